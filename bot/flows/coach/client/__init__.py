"""One client of a coach: the card and all that she may change."""
