"""Reading a client's own words for warning signs."""
