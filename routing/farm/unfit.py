"""What a parser of a cell raises."""

from __future__ import annotations


class UnfitError(ValueError):
    """A value is not what it should be; the message is made to stand after the value."""


class DoubtfulError(UnfitError):
    """A value may mean two things; the message names both."""
