"""The season's memory: what was done, what is due, and how long the stores last."""
