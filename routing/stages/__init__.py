"""The straight line from a farm folder to a checked round, and what is asked of the record."""
