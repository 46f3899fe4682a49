"""Nouns -> files. Paper is known only here."""
