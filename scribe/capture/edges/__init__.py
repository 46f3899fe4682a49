"""Find an edge and follow it, and what lines need as well: scan lines, fits, chains."""
