"""The drawing laid on sheets: where, how they join, and what that adds to U."""
