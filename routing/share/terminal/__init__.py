"""Answers on the terminal."""
