"""Takt, loads, people needed, the greatest rate as a bound, and estimates of waiting."""
