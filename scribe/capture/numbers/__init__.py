"""Numbers taken by hand, and drawings."""
