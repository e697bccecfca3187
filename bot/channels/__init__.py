"""The channels to people: the local page, Telegram, and one that only records."""
