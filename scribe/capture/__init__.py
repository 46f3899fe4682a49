"""Photo, numbers or drawing -> Outline. Pixels are born and die here."""
