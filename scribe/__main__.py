"""Lets `python -m scribe` run the same command as `scribe`."""

from scribe.commands.main import main

main()
