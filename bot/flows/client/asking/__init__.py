"""Questions that a client asks in own words, answered from the record."""
