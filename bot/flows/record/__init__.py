"""What conversations read out of a client's record."""
