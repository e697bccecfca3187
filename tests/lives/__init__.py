"""A lived-in practice: invented people live weeks of it, and laws are checked after every step."""
