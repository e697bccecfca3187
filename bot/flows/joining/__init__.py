"""How a client joins."""
