"""Holes, slots and splits: what goes through a piece."""
