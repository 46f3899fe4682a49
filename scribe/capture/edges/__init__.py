"""Find an edge or a line and follow it."""
