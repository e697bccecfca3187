"""Everything that touches the world: chat channels, the database, the clock, files and the schedule."""
