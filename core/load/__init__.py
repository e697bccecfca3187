"""How much was done over days, and whether it is too much."""
