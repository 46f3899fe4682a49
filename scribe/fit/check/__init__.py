"""The cut edge beside its line, and the second cut."""
