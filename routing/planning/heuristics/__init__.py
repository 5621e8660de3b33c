"""Searches that prove nothing, each behind the interface of an engine."""
