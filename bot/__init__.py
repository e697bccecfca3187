"""Everything that touches the world: chats, the database, the clock, files and the schedule."""
