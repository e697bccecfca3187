"""A coach's own practice: joining, settings, lists and ways in."""
