"""The sun, and when work may be done."""
