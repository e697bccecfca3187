"""Pictures of rungs and charts of the record, drawn once and kept."""
