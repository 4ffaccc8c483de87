"""Countfall: timing and joint angles of line dancers, from a practice clip, on your own computer."""

__version__ = "0.1.0"
