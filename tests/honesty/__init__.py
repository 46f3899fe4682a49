"""Predictions held against the truth, on many scenes and on real photographs."""
