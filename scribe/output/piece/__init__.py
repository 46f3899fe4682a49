"""The piece drawn in full size, and its table."""
