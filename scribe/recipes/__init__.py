"""The only place where verbs meet: one file per command."""
