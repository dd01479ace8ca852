"""Linewright: from how a thing is made to whether the line will make it."""

__version__ = "0.1.0"
