"""The channel to Telegram."""
