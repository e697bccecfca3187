"""Which conversation an arrival belongs to."""
