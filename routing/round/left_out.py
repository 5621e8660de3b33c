"""What is left out of a round, why, and what would make it fit."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from routing.farm.models import Frozen
from routing.round.stops import PlannedJob


class ReasonCode(StrEnum):
    """Why a visit is left out. All but NO_ROOM are certain: true whatever else is planned."""

    NOT_DUE = "not due"
    OTHER_DAY = "promised for another day"
    NO_CREW = "no crew that day"
    CLOSED = "closed"
    TOO_DARK = "too dark"
    WEATHER = "weather"
    TOO_FAR = "too far"
    NO_WAY = "no way from base"
    NO_ROAD = "no road near"
    NO_VEHICLE = "no vehicle"
    NEEDS_PEOPLE = "needs more people"
    TOO_HEAVY = "too heavy"
    NO_STOCK = "no stock"
    NO_ROOM = "no room in the day"
    NOT_ASKED = "not in your order"

    @property
    def certain(self) -> bool:
        """Whether the reason holds for the visit alone."""
        return self is not ReasonCode.NO_ROOM


class Shortfall(Frozen):
    """What the cheapest insertion would break, and by how much."""

    what: str
    """`working light`, `opening hours`, `home by`, `payload`, `space`, `stock of fondant`."""
    amount: float
    unit: str
    """`seconds`, `kg`, `litres`, or the unit of the stock."""


class Insertion(Frozen):
    """The cheapest place for a left-out visit in the round as it stands."""

    crew: str
    date: dt.date
    after: str
    """The base or the site that it would follow."""
    extra_seconds: int | None
    """How much longer the crew drives and works. None where it may come back to base to load: how the load would then
    be shared out over its trips, and so what one visit more takes, is not known of a day that nobody plans."""
    shortfalls: tuple[Shortfall, ...]


class RemedyKind(StrEnum):
    """What would make a left-out visit fit."""

    MORE_LIGHT = "more light"
    EARLIER_START = "earlier start"
    LATER_HOME = "later home"
    MORE_PEOPLE = "a second pair of hands"
    LEAVE_OUT = "leave out another"
    MORE_STOCK = "more stock"
    OTHER_VEHICLE = "another vehicle"
    LIGHTER_LOAD = "fewer hives at once"
    MORE_TRIPS = "another load"
    OTHER_DAY = "another day"


class Remedy(Frozen):
    """The smallest change of one kind that was shown, by planning again, to fit the visit in."""

    kind: RemedyKind
    amount: float = 0
    """Seconds, people, kilograms, units, or days after the round, as the kind has it; 0 for none."""
    text: str


class LeftOut(Frozen):
    """Jobs of one site that no crew does, and why."""

    site: str
    name: str
    latitude: float
    longitude: float
    jobs: tuple[PlannedJob, ...]
    reason: ReasonCode
    text: str
    """One sentence a person can check."""
    insertion: Insertion | None = None
    """Given exactly where `reason` is not certain."""
    remedies: tuple[Remedy, ...] = ()
