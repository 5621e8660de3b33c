"""What is left out, why, and what would save it."""
