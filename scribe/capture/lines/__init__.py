"""Find a drawn line and follow it."""
