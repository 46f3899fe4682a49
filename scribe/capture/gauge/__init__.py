"""Find the pins of a profile gauge and the surface that they touched."""
