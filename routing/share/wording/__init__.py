"""The round in words, the same wherever it is shown."""
