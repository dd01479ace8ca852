"""The event kernel: everything that happens while the clock runs, on flat memory, compiled once by numba."""
