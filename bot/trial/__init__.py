"""The trial: an invented practice on a page of this machine."""
