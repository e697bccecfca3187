"""Conversations as data and pure functions: no database, clock, channel or template engine."""
