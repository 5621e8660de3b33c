"""The steps, oldest first."""
