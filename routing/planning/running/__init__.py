"""Engines in other processes, stopped in time, and compiled code made ready."""
