"""Plain arrays in mm: no nouns, no files."""
