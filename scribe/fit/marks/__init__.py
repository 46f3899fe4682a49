"""The fewest marks that a straight edge or a batten joins."""
