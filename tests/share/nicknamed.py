"""A round as a stranger to the farm's names would be given it."""

from __future__ import annotations

from routing.round import Round
from routing.share.safety.nicknames import Hiding, hidden


def nicknamed(round_: Round) -> Round:
    """Return the round with its sites under nicknames, made by what it tells itself, without its farm."""
    return hidden(round_, Hiding.of(round_, {}))
