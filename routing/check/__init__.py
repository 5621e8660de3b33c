"""Recomputes every promise of a round by its own arithmetic; shares no code with the planning."""
