"""How long and how far from place to place."""
