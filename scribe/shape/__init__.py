"""Outline -> Outline."""
