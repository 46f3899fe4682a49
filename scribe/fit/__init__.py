"""Outlines and a blank -> the piece."""
