"""What belongs to erasing somebody: whom a row tells of, the list, and the files."""
