"""The answer to the question whether all will be done before dark."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from routing.farm.models import Frozen
from routing.round.round import Round


class FitProof(StrEnum):
    """How a `fit` answer is proved."""

    ORDER = "an order that fits"
    CERTAIN = "a reason that holds for a visit alone"
    BOUND = "arithmetic anyone can follow"
    SEARCH = "exact search"
    SHARED = "a bound over every way to share the work out"
    NOT_PROVED = "not proved"


class FitAnswer(Frozen):
    """The answer to the question whether all will be done before dark."""

    date: dt.date
    fits: bool
    proof: FitProof
    lines: tuple[str, ...]
    """The answer and its proof in words, a sentence each."""
    missing_seconds: int = 0
    """Least extra light or time that would let everything be done; 0 where it fits or cannot be said."""
    round: Round | None = None
    """The checked round, where everything fits."""
