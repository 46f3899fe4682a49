"""The local page: a phone in one hand, at the wall. It calls the same recipes as the commands."""
