"""The jobs in `fixtures`: what they were made from, and what they must give."""
