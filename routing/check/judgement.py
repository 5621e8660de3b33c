"""What the check finds, parted into what the crews go by and what is only said beside it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Beside(StrEnum):
    """What is said beside a round; each value is the words for a false one."""

    INSERTION = "a wrong cheapest place"
    REMEDIES = "a wrong remedy"
    REASON = "a wrong reason"
    ROOM = "that still fits"
    PROOF = "a wrong word on how good the round is"
    EVEN = "a wrong word on even days"
    CLASH = "a wrong word on musts that clash"
    CALLS = "a wrong place for a call"
    SECOND_BREAK = "a wrong word on a second break"
    FIELD = "a wrong number for the field"


@dataclass(frozen=True)
class Broken:
    """One false sentence beside the round."""

    what: Beside
    sentence: str
    entry: int | None = None
    """The place among those left out, where it is said of one of them."""
    day: int | None = None
    """The place among the itineraries, where it is said of a crew's day."""


@dataclass(frozen=True)
class BrokenDay:
    """One promise that a crew's day breaks."""

    day: int
    """The place among the itineraries."""
    promise: str
    """Its name in words."""
    sentence: str


@dataclass(frozen=True)
class Judgement:
    """Every promise that a round breaks; nothing where it keeps all."""

    whole: tuple[str, ...] = ()
    """Of the round as a whole, which no single day answers for."""
    days: tuple[BrokenDay, ...] = ()
    beside: tuple[Broken, ...] = ()

    @property
    def round_broken(self) -> tuple[str, ...]:
        """Return the broken promises of the round itself: times, loads, jobs, crews."""
        return (*self.whole, *(broken.sentence for broken in self.days))

    @property
    def sentences(self) -> tuple[str, ...]:
        """Return all of them, a sentence each."""
        return (*self.round_broken, *(broken.sentence for broken in self.beside))
