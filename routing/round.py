"""The plan as it is shown and saved: frozen, timed, in the farmer's words.

A `Round` holds all that a page, a file or the check needs, so nothing downstream asks the planning again. Times are
zone-aware and whole seconds; loads are kilograms and litres; durations are whole seconds.
"""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from pydantic import AwareDatetime

from routing.farm.models import Frozen, Rank
from routing.travel.legs import LegOrigin

SCHEMA_VERSION = 2
"""Raised whenever a field of `Round` is renamed, removed or changes its meaning."""


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


class MaterialAmount(Frozen):
    """So much of a material, in thousandths of its unit."""

    material: str
    thousandths: float


class NumbersJob(Frozen):
    """What one job takes, so that what is left of it can be reckoned anew."""

    hives: int
    rank: Rank
    weight: int
    """What it counts inside its rank: thousands, of a part of a job its share of the hives."""
    set_up_seconds: int
    hive_seconds: float
    """Of this crew for one hive; the work of some is rounded up to whole seconds after it is multiplied."""
    takes: tuple[MaterialAmount, ...] = ()
    """For one hive."""
    brings_back: tuple[MaterialAmount, ...] = ()


class NumbersWindow(Frozen):
    """A time in which work may be done, in seconds from the midnight of the day, and which of the stop's jobs."""

    opens: int
    closes: int
    jobs: tuple[int, ...]


class NumbersStop(Frozen):
    """One stop of the day, in its order and with its jobs in theirs."""

    walk_seconds: int
    last_of_day: bool
    windows: tuple[NumbersWindow, ...]
    jobs: tuple[NumbersJob, ...]


class NumbersMaterial(Frozen):
    """One material of the day: what a thousandth of its unit weighs and fills, and how many were loaded at base."""

    material: str
    grams_each: float
    millilitres_each: float
    loaded: int


class DayNumbers(Frozen):
    """What the day can be reckoned anew from in the field: whole seconds, grams and millilitres, and no place."""

    midnight: AwareDatetime
    """Seconds count from here."""
    home_by: int
    break_seconds: int
    break_after_seconds: int
    payload_grams: int
    space_millilitres: int
    materials: tuple[NumbersMaterial, ...]
    stops: tuple[NumbersStop, ...]
    seconds: tuple[tuple[int, ...], ...]
    """Drives between base, which is first, and the stops, [from, to]; below zero where there is no way."""


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


class Proof(Frozen):
    """How good the round is, in words and as a flag."""

    optimal: bool
    """True only where an exact search proved every rank and the time away."""
    text: str
    stopped: bool = False
    """Whether the search was stopped by hand before its end."""
    rank_bounds: tuple[int, ...] = ()
    """By rank, the most weight that any round serves, up to the first rank in which it is more than this round's.

    Empty where nothing is known. A job weighs 7 and 1 a day overdue, times `weight_scale`.
    """
    weight_scale: int = 1
    """The least number of which every shared-out job's hives are a part, so that weights of parts are whole numbers."""
    away_bound_seconds: int = 0
    """No round of the same jobs, none of them later than here, is away for less; 0 where nothing is known."""


class EvenDays(Frozen):
    """What it took to make the days' hours away even, for the same jobs."""

    longest_before_seconds: int
    """The longest time away of any crew's day in the round of the least time away in all."""
    longest_seconds: int
    """The longest in this round."""
    extra_seconds: int
    """How much longer all crews' days together are away than in that round; below zero where they are shorter."""
    text: str


class Chance(Frozen):
    """How likely the planned round is done in time, by the same simulated days as `outyard chance`."""

    days: int
    """So many days were simulated."""
    musts: float | None
    """The share of them on which every stop with work that must be done is done in time; None where there is none."""
    whole: float
    """The share of them on which every visit is done in time and every crew is home in time."""
    text: str
    """One sentence with both, and what they rest on."""
    remedies: tuple[str, ...] = ()
    """What would make the whole day hold on nine days of ten, each simulated again, a sentence each."""


class SurestOrder(Frozen):
    """Given where another order of the same crews' stops is taken than the one away for the least time."""

    extra_seconds: int
    """How much longer all crews' days together are away than in the shortest round found."""
    musts_before: float | None
    musts_after: float | None
    """The share of simulated days on which all that must be done is done in time, by that round and by this one."""
    whole_before: float
    whole_after: float
    """The same of everything."""
    text: str


class Start(Frozen):
    """Where the crew stands when the rest of a day is planned."""

    name: str
    latitude: float
    longitude: float


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
