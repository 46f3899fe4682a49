"""What a check of the cut says and draws."""
