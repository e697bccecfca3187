"""Alerts and holds, as the coach meets them."""
