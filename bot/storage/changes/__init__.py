"""Carrying out what conversations want changed."""
