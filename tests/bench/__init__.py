"""Time and memory, compared side by side in one run; printed, never asserted."""
