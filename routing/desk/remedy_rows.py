"""The remedies of a left-out visit as buttons: which one, in which words, and whether it is anybody's to give."""

from __future__ import annotations

from dataclasses import dataclass

from routing.round import LeftOut, RemedyKind
from routing.share.safety.safe import plain_text


@dataclass(frozen=True)
class RemedyRow:
    """One remedy."""

    number: int
    words: str
    given: bool


def remedy_rows(left: LeftOut) -> list[RemedyRow]:
    """Return the remedies of a left-out visit in their order; nobody can give more light."""
    return [
        RemedyRow(number, plain_text(remedy.text), remedy.kind is not RemedyKind.MORE_LIGHT)
        for number, remedy in enumerate(left.remedies)
    ]
