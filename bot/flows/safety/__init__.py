"""Conversations about warning signs."""
