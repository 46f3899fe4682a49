"""Measure where built-in furniture meets the building, and make the template that fits it."""

__version__ = "0.1.0"
