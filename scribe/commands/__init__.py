"""The command line: parse, call one recipe, say what was written."""
