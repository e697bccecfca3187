"""What falls due, and the sweeps that find it."""
