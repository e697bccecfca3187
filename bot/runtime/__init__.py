"""Building the program from its parts, and running it."""
