"""Conversations with a client."""
