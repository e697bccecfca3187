"""Which rung today and how much of it: the record, capacity, and the choice with its reasons."""
