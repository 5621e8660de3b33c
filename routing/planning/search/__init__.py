"""Which engine runs when, and the best of what they find."""
