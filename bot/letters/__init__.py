"""Documents for a coach to keep or hand on: what was said, and letters about a client."""
