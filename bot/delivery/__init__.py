"""Handing waiting messages to the channels, and deciding what to do when that fails."""
