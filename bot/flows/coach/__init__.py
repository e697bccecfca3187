"""Conversations with a coach."""
