"""What a crew does in a day, stop by stop, and what is on the vehicle."""

from __future__ import annotations

import datetime as dt

from pydantic import AwareDatetime

from routing.farm.models import Frozen, Rank
from routing.round.numbers import DayNumbers
from routing.travel.leg_origin import LegOrigin


class PlannedJob(Frozen):
    """A job that is done at a stop; a move of hives is told at the stop where they are loaded."""

    id: str
    kind: str
    name: str
    hives: int
    work_seconds: int
    """For the crew that does it, its set-up not counted."""
    rank: Rank
    days_overdue: int = 0
    note: str = ""
    cautions: tuple[str, ...] = ()
    to: str = ""
    """The site that its hives are moved to: the next stop, where they are set down; empty where none are moved."""
    to_name: str = ""
    promised: bool = False
    """Whether the landowner was promised one day for it."""


class SetDown(Frozen):
    """The end of a move: the hives that were loaded at the stop before are set down."""

    job: str
    """The id of the job, which stands at the stop before."""
    name: str
    hives: int
    work_seconds: int
    """For the crew that does it, set-up not counted."""
    from_site: str
    from_name: str
    cautions: tuple[str, ...] = ()
    """Of the job kind; what concerns the distance stands with the job."""


class Drive(Frozen):
    """The leg to a stop, or home."""

    seconds: int
    metres: int
    origin: LegOrigin
    shape: str = ""
    """The line driven on the road map: an encoded polyline of precision 6; empty where it is not known."""
    turns: tuple[str, ...] = ()
    """What to do where, in order; empty where it is not known."""


class Break(Frozen):
    """A rest taken at a stop before its work starts or from its finish on, never in the middle of the work."""

    start: AwareDatetime
    seconds: int


class StoppingPlace(Frozen):
    """Where the vehicle stops for a site, if that is told apart from where the hives stand."""

    latitude: float
    longitude: float
    road: str = ""
    """The road's name, or its kind where it has none, such as `a track`; empty where no road map tells it."""


class Stop(Frozen):
    """One visit: all jobs done at one site in one stop. A move of hives is two, one directly after the other."""

    number: int
    """From 1 in the order of the itinerary."""
    site: str
    """Its id, or `base` where the crew is back there to load again."""
    name: str
    latitude: float
    """Of the hives, as the farm wrote down the site's place; or of the base."""
    longitude: float
    stopping_place: StoppingPlace | None = None
    """From a road map, or the site's own; None where neither is there, so that only the site's place is known."""
    drive: Drive
    arrive: AwareDatetime
    start: AwareDatetime
    """Of the work: never before the window opens; later than `arrive` where the crew waits or rests first."""
    finish: AwareDatetime
    """Of the work; where the break comes after it, the crew goes on when that is over."""
    on_site_seconds: int
    """Walking both ways, one set-up and the jobs; the break is not counted."""
    rest: Break | None = None
    window_opens: AwareDatetime
    window_closes: AwareDatetime
    """Working light and opening hours together: work must lie between the two."""
    light_left_seconds: int
    """From `finish` to `window_closes`."""
    load_kg: float
    """On the vehicle when it leaves this stop."""
    load_litres: float
    jobs: tuple[PlannedJob, ...]
    """Empty exactly where hives are set down, or where the crew is back at base to load again."""
    set_down: SetDown | None = None
    """Hives that came along from the stop before; their job stands there, so that it is counted once."""
    last_of_day: bool = False
    walking_minutes: float = 0
    notes: str = ""
    load_again: LoadList | None = None
    """Back at base in the middle of the day: what was brought is taken off, and this is the list of the next trip."""


class LoadItem(Frozen):
    """One line of a load list."""

    material: str
    name: str
    amount: float
    unit: str
    packs: int | None = None
    """Whole packs to load, rounded up; None where it is not sold in packs."""
    pack: str = ""
    """`box of 12.5 kg`."""
    kg: float
    """Weight as loaded: of whole packs where it is packed, since a part box is not left behind."""
    litres: float


class LoadList(Frozen):
    """What goes on the vehicle at base for one trip, what that trip brings back, and its fullest point."""

    out: tuple[LoadItem, ...]
    """What is loaded; what is left over from the trip before is on board besides."""
    back: tuple[LoadItem, ...]
    fullest_kg: float
    fullest_kg_at: str
    """`base`, or the site that is left with this load."""
    payload_kg: float
    fullest_litres: float
    fullest_litres_at: str
    space_litres: float


class CallIn(Frozen):
    """A time by which a lone worker should have called."""

    by: AwareDatetime
    where: str


class Itinerary(Frozen):
    """One crew's day."""

    crew: str
    crew_name: str
    people: int
    vehicle: str
    vehicle_name: str
    date: dt.date
    load_from: AwareDatetime
    """Loading at base begins; `leave` follows when it is done."""
    leave: AwareDatetime
    stops: tuple[Stop, ...]
    drive_home: Drive
    home: AwareDatetime
    home_by: AwareDatetime
    away_seconds: int
    drive_seconds: int
    distance_metres: int
    load: LoadList
    """Of the day, or of its first trip where the crew comes back to base to load again."""
    call_ins: tuple[CallIn, ...] = ()
    cautions: tuple[str, ...] = ()
    """Of the day as a whole: that a second break is due."""
    plan_key: str = ""
    """The key of the plan that this is, where its names were hidden since; empty where they were not."""
    numbers: DayNumbers | None = None
    """None where the day moves hives or comes back to base to load: it is not reckoned anew in the field."""

    @property
    def at_sites(self) -> tuple[Stop, ...]:
        """Return the stops at sites, without those at base."""
        return tuple(stop for stop in self.stops if stop.load_again is None)

    @property
    def loads(self) -> tuple[LoadList, ...]:
        """Return the load list of every trip of the day."""
        return (self.load, *(stop.load_again for stop in self.stops if stop.load_again is not None))
