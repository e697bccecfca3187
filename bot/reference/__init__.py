"""What never changes while the program runs: words, movements and red-flag data, loaded once."""
