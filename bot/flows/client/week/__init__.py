"""What goes on over weeks: walks, the weekly word, how far a client has come."""
