"""How a log of any age becomes one of today. Each step is kept for ever as it was."""
