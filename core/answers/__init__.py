"""Typed answers in whole sentences: one reader for every question that the chat asks."""
