"""Who must hear of a warning sign, when, and how often, until somebody has seen it."""
