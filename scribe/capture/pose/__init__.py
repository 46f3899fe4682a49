"""The camera of a photo: its lens and its pose, from the marks of the sheet."""
