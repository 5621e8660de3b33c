"""The plan as it is shown and saved: frozen, timed, in the farmer's words.

A `Round` holds all that a page, a file or the check needs, so nothing downstream asks the planning again. Times are
zone-aware and whole seconds; loads are kilograms and litres; durations are whole seconds.
"""

from __future__ import annotations

import datetime as dt

from routing.farm.models import Frozen
from routing.round.left_out import LeftOut, ReasonCode
from routing.round.quality import Chance, EvenDays, Proof, SurestOrder
from routing.round.stops import Itinerary

SCHEMA_VERSION = 2
"""Raised whenever a field of `Round` is renamed, removed or changes its meaning."""


class Start(Frozen):
    """Where the crew stands when the rest of a day is planned."""

    name: str
    latitude: float
    longitude: float
    counted: bool = False
    """Whether the load list is all that is on the vehicle; else what of it is needed."""


class Round(Frozen):
    """The plan: which crew makes which visits in which order, and what is left out."""

    schema_version: int = SCHEMA_VERSION
    farm: str
    base_name: str
    base_latitude: float
    base_longitude: float
    time_zone: str
    dates: tuple[dt.date, ...]
    itineraries: tuple[Itinerary, ...]
    left_out: tuple[LeftOut, ...]
    proof: Proof
    even: EvenDays | None = None
    """Given where even days were asked for, also where nothing more even was found."""
    chance: Chance | None = None
    """None where nothing is planned, or where a person gave the order."""
    surest: SurestOrder | None = None
    """None where the stops are in the order of the least time away that was found."""
    clash: str = ""
    """A smallest set of musts that cannot all be done, in words; empty where there is none or none is proven."""
    estimates: tuple[str, ...] = ()
    """What in this plan is an estimate, a sentence each; shown wherever the plan is."""
    cautions: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    start: Start | None = None
    """Where the first drive of the round begins; None where that is the base."""
    given_order: bool = False
    """A person gave the order; what it leaves out was not sought room for."""
    faults: tuple[str, ...] = ()
    """What the check found wrong beside the round and was left away for it: faults of the program, to be reported."""
    units: str = "miles"
    emergency_number: str = "112"

    @property
    def all_done(self) -> bool:
        """Whether every job due on these dates is planned."""
        return all(left.reason is ReasonCode.NOT_DUE for left in self.left_out)
