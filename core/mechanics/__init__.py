"""A body as rigid segments, the poses it can take, and what they ask of its joints."""
