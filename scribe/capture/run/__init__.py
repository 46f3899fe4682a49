"""Many photos of many strips: solved together, traced, merged."""
