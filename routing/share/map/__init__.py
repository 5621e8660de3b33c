"""The map of a round."""
