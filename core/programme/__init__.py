"""A whole programme: the shape of a week, above the dose of one day."""
