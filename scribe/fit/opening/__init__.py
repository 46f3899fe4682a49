"""The room as measured, and the sizes of what goes in."""
