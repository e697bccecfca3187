"""What only a database server needs, who works on a store, and which life it is in."""
