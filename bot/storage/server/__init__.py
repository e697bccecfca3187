"""What only a database server needs, and who works on a store."""
