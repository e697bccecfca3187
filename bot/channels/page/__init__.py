"""The channel to the trial page."""
