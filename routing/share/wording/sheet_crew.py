"""One crew's day in words: its facts, stops, load list, cautions and call-in times."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from routing.farm.models import BASE
from routing.round import CallIn, Drive, Itinerary, LoadItem, LoadList, PlannedJob, Round, SetDown, Start, Stop
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording import words
from routing.share.wording.persons import day_words
from routing.travel.leg_origin import LegOrigin


@dataclass(frozen=True)
class StopSheet:
    """One stop in words; `mark` is what stands on the map and in every list, such as `3` or `B3`."""

    mark: str
    name: str
    drive: str
    drive_note: str
    """`estimate` where the leg is one, else empty."""
    arrive: str
    start: str
    finish: str
    light_left: str
    """Empty at base."""
    on_board: str
    jobs: tuple[str, ...]
    """At base, what is taken off and what is loaded."""
    details: tuple[str, ...]
    at_base: bool = False
    """Whether the crew is back at base to load again."""

    @property
    def light(self) -> str:
        """`40 min of light left`, or that this is base."""
        return "back at base" if self.at_base else f"{self.light_left} of light left"


@dataclass(frozen=True)
class LoadLine:
    """One material of a load list in words; `packs` is empty where it is not packed."""

    name: str
    amount: str
    packs: str
    weight: str
    space: str


@dataclass(frozen=True)
class TripSheet:
    """The load list of one trip from base; a day has one trip, or more where the crew comes back to load again."""

    title: str
    """`Load at base`, and which trip where there are several."""
    out: tuple[LoadLine, ...]
    back_title: str
    back: tuple[LoadLine, ...]
    fullest: tuple[str, ...]
    """The heaviest and the fullest point; first, of several trips, where nothing is loaded."""


@dataclass(frozen=True)
class CrewSheet:
    """One itinerary in words; `facts` and `call_ins` are pairs of label and value."""

    letter: str
    """`A` for the first itinerary where there are several, else empty."""
    name: str
    who: str
    date: str
    title: str
    """`Crew: Rowan`; of several days or crews the letter of its stops, whose day it is, and the date."""
    facts: tuple[tuple[str, str], ...]
    stops: tuple[StopSheet, ...]
    home_drive: str
    home_drive_note: str
    home: str
    trips: tuple[TripSheet, ...]
    """At least one."""
    call_ins: tuple[tuple[str, str], ...]

    @property
    def under(self) -> str:
        """What stands under the title: who goes in what, and the date where the title does not tell it."""
        return self.who if self.date in self.title else f"{self.date}; {self.who}"

    @property
    def leave(self) -> str:
        """`Leave base 07:35`, or the place where the rest of a day starts."""
        return next(f"{label} {value}" for label, value in self.facts if label.startswith("Leave"))


def crew_sheet(round_: Round, index: int) -> CrewSheet:
    """Return the itinerary at `index` in words."""
    itinerary = round_.itineraries[index]
    letter = _letter(index) if len(round_.itineraries) > 1 else ""
    stops = tuple(_stop(round_, itinerary, stop, letter) for stop in itinerary.stops)
    zone = ZoneInfo(round_.time_zone)
    return CrewSheet(
        letter=letter,
        name=plain_name(itinerary.crew_name),
        who=f"{words.people_words(itinerary.people)}, {plain_name(itinerary.vehicle_name)}",
        date=words.date_words(itinerary.date),
        title=_title(round_, itinerary, letter),
        facts=_facts(round_, itinerary),
        stops=stops,
        home_drive=words.duration(itinerary.drive_home.seconds),
        home_drive_note=_drive_note(itinerary.drive_home),
        home=words.clock(words.minute_reached(itinerary.home), itinerary.date, zone),
        trips=_trips(itinerary, letter, round_.start),
        call_ins=tuple(
            (words.clock(_call_minute(itinerary, call), itinerary.date, zone), plain_text(call.where))
            for call in itinerary.call_ins
        ),
    )


def _title(round_: Round, itinerary: Itinerary, letter: str) -> str:
    """Return whose day it is: one person's three days must not read as three crews."""
    date = words.date_words(itinerary.date) if letter or len(round_.dates) > 1 else ""
    parts = (f"{letter or 'Crew'}: {plain_name(itinerary.crew_name)}", day_words(round_, itinerary), date)
    return ", ".join(part for part in parts if part)


def _call_minute(itinerary: Itinerary, call: CallIn) -> dt.datetime:
    """Return when to call: on the last finish and on coming home the minute shown there, else the minute before."""
    last = itinerary.stops[-1]
    if call.by == itinerary.home:
        return words.minute_reached(call.by)
    if call.by == last.finish:
        return words.minute_at_stop(call.by, last.window_closes)
    return words.minute_by(call.by)


def _trips(itinerary: Itinerary, letter: str, start: Start | None) -> tuple[TripSheet, ...]:
    """Return the load list of each trip; in the rest of a day, from `start`, what is or must be on board by now."""
    names = {
        BASE: plain_name(start.name) if start else BASE,
        **{stop.site: plain_name(stop.name) for stop in itinerary.at_sites},
    }
    loading = "Load at base"
    if start is not None:
        loading = "Counted as on the vehicle" if start.counted else "Needed on the vehicle"
    marks = ["", *(f" (stop {letter}{stop.number})" for stop in itinerary.stops if stop.load_again is not None)]
    several = len(itinerary.loads) > 1
    return tuple(
        TripSheet(
            title=f"{loading}, trip {number} of {len(marks)}{mark}" if several else loading,
            out=tuple(_load_line(item) for item in load.out),
            back_title=f"Comes back from trip {number}" if several else "Comes back",
            back=tuple(_load_line(item) for item in load.back),
            fullest=(
                *(("Nothing is loaded for this trip.",) if several and not load.out else ()),
                *_fullest(load, names),
            ),
        )
        for number, (load, mark) in enumerate(zip(itinerary.loads, marks, strict=True), start=1)
    )


def job_words(job: PlannedJob) -> str:
    """Return `Feed fondant, 12 hives, must, 5 days overdue`; of a move, where its hives go."""
    return f"{job_title(job)}, {job_matters(job)}"


def job_title(job: PlannedJob) -> str:
    """Return `Feed fondant, 12 hives`; of a move, where its hives go."""
    hives = words.count(job.hives, "hive")
    return f"{plain_name(job.name)}, {f'load {hives} for {plain_name(job.to_name)}' if job.to else hives}"


def job_matters(job: PlannedJob) -> str:
    """Return `must, 5 days overdue`: the rank, and what presses."""
    overdue = (f"{words.count(job.days_overdue, 'day')} overdue",) if job.days_overdue else ()
    return ", ".join((job.rank.value, *(("day promised",) if job.promised else ()), *overdue))


def set_down_words(end: SetDown) -> str:
    """Return `Set down 6 hives from Ridge`."""
    return f"Set down {words.count(end.hives, 'hive')} from {plain_name(end.from_name)}"


def cautions_of(stop: Stop) -> tuple[str, ...]:
    """Return what to beware of at a stop, each once, as the round has it."""
    ends = (stop.set_down.cautions,) if stop.set_down is not None else ()
    return tuple(dict.fromkeys(caution for group in (*(job.cautions for job in stop.jobs), *ends) for caution in group))


def reload_lines(itinerary: Itinerary, stop: Stop) -> tuple[str, ...]:
    """Return what is taken off and what is loaded at a stop at base, a line each; nothing for a stop at a site."""
    off, on = _off_and_on(itinerary, stop)
    return (
        *(f"Take off {line.name}: {line.amount}, {line.weight}" for line in off),
        *(
            f"Load {line.name}: {f'{line.packs}, for ' if line.packs else ''}{line.amount}, {line.weight}"
            for line in on
        ),
    )


def _off_and_on(itinerary: Itinerary, stop: Stop) -> tuple[list[LoadLine], list[LoadLine]]:
    """Return what the trip before brought back and what goes on for the next one; nothing for a stop at a site."""
    if stop.load_again is None:
        return [], []
    trips = [each.number for each in itinerary.stops if each.load_again is not None]
    before = itinerary.loads[trips.index(stop.number)]
    return [_load_line(item) for item in before.back], [_load_line(item) for item in stop.load_again.out]


def _purpose(itinerary: Itinerary, stop: Stop) -> str:
    """Return what the crew is back at base for."""
    off, on = _off_and_on(itinerary, stop)
    if not off:
        return "to load again"
    return "to unload and load" if on else "to unload"


def work_lines(stop: Stop) -> tuple[str, ...]:
    """Return each job of a stop, or the setting down of hives, with how long it takes."""
    lines = [f"{job_words(job)}: {words.duration(job.work_seconds)}" for job in stop.jobs]
    if stop.set_down is not None:
        lines.append(f"{set_down_words(stop.set_down)}: {words.duration(stop.set_down.work_seconds)}")
    return tuple(lines)


def _letter(index: int) -> str:
    """Return A to Z, then AA, AB and so on."""
    more, place = divmod(index, 26)
    return (_letter(more - 1) if more else "") + chr(ord("A") + place)


def _drive_note(drive: Drive) -> str:
    return "estimate" if drive.origin is LegOrigin.ESTIMATE else ""


def _facts(round_: Round, itinerary: Itinerary) -> tuple[tuple[str, str], ...]:
    zone = ZoneInfo(round_.time_zone)
    drives = [*(stop.drive for stop in itinerary.stops), itinerary.drive_home]
    guessed = " (estimate)" if any(_drive_note(drive) for drive in drives) else ""

    def act_by(moment: dt.datetime) -> str:
        return words.clock(words.minute_by(moment), itinerary.date, zone)

    def reached(moment: dt.datetime) -> str:
        return words.clock(words.minute_at_stop(moment, itinerary.home_by), itinerary.date, zone)

    home = words.clock(words.minute_reached(itinerary.home), itinerary.date, zone)
    way = words.distance(itinerary.distance_metres, round_.units)
    facts = [("Load from", act_by(itinerary.load_from))] if round_.start is None else []
    facts += [
        ("Leave base" if round_.start is None else f"Leave {plain_name(round_.start.name)}", act_by(itinerary.leave)),
        ("Home", f"{home}, wanted by {act_by(itinerary.home_by)}"),
        ("Away", words.duration(words.shown_away_seconds(itinerary.leave, itinerary.home))),
        ("Driving", f"{words.shown_driving(drive.seconds for drive in drives)}, {way}{guessed}"),
    ]
    facts += [
        ("Back at base", f"{reached(stop.arrive)} to {reached(stop.finish)}, {_purpose(itinerary, stop)}")
        for stop in itinerary.stops
        if stop.load_again is not None
    ]
    if itinerary.at_sites:
        least = min(itinerary.at_sites, key=lambda stop: words.light_left_minutes(stop.finish, stop.window_closes))
        left = words.minutes_words(words.light_left_minutes(least.finish, least.window_closes))
        facts.append(("Least light left", f"{left}, at {plain_name(least.name)}"))
    return tuple(facts)


def _stop(round_: Round, itinerary: Itinerary, stop: Stop, letter: str) -> StopSheet:
    zone, at_base = ZoneInfo(round_.time_zone), stop.load_again is not None

    def reached(moment: dt.datetime) -> str:
        return words.clock(words.minute_at_stop(moment, stop.window_closes), itinerary.date, zone)

    return StopSheet(
        mark=f"{letter}{stop.number}",
        name=f"{plain_name(stop.name)}, {_purpose(itinerary, stop)}" if at_base else plain_name(stop.name),
        drive=words.duration(stop.drive.seconds),
        drive_note=_drive_note(stop.drive),
        arrive=reached(stop.arrive),
        start=reached(stop.start),
        finish=reached(stop.finish),
        light_left="" if at_base else words.minutes_words(words.light_left_minutes(stop.finish, stop.window_closes)),
        on_board=words.on_board(stop.load_kg, "kg"),
        jobs=(*reload_lines(itinerary, stop), *work_lines(stop)),
        details=_details(itinerary, stop, zone),
        at_base=at_base,
    )


def _details(itinerary: Itinerary, stop: Stop, zone: ZoneInfo) -> tuple[str, ...]:
    def show(minute: dt.datetime) -> str:
        return words.clock(minute, itinerary.date, zone)

    opens, closes = words.minute_reached(stop.window_opens), words.minute_by(stop.window_closes)
    first = show(min(opens, max(closes, words.minute_by(stop.window_opens))))
    lines = [f"Work only from {first} to {show(closes)}."] if stop.load_again is None else []
    waits = int((stop.start - stop.arrive).total_seconds())
    if stop.rest is not None:
        rest = words.minute_at_stop(stop.rest.start, stop.window_closes)
        before = stop.rest.start < stop.start
        waits -= stop.rest.seconds if before else 0
        when = ", before the work" if before else ""
        lines.append(f"Break of {words.duration(stop.rest.seconds)} here, from {show(rest)}{when}.")
    if waits > 0:
        lines.append(f"Wait {words.duration(waits)} before starting.")
    if stop.walking_minutes > 0:
        lines.append(f"Walk {words.minutes_words(math.ceil(stop.walking_minutes))} each way from the vehicle.")
    if stop.last_of_day:
        lines.append("Last of the day: no healthy site after this one; clean suit, tools, boots and vehicle.")
    notes = (plain_text(text) for text in (stop.notes, *(job.note for job in stop.jobs)))
    lines += [f"Note: {note}" for note in dict.fromkeys(notes) if note]
    return tuple(lines)


def _load_line(item: LoadItem) -> LoadLine:
    return LoadLine(
        name=plain_name(item.name),
        amount=words.amount_words(item.amount, plain_text(item.unit, 20)),
        packs=""
        if item.packs is None
        else f"{item.packs} \N{MULTIPLICATION SIGN} {plain_text(item.pack, 60) or 'pack'}",
        weight=words.on_board(item.kg, "kg"),
        space=words.on_board(item.litres, "litres"),
    )


def _fullest(load: LoadList, names: dict[str, str]) -> tuple[str, ...]:
    def line(what: str, amount: float, at: str, room: float, unit: str) -> str:
        where = f"on leaving {names.get(at, plain_name(at))}"
        share = math.ceil(round(100 * amount / room, 6))
        return f"{what}: {words.on_board(amount, unit)} {where}, of {words.limit(room, unit)} ({share} %)."

    return (
        line("Heaviest", load.fullest_kg, load.fullest_kg_at, load.payload_kg, "kg"),
        line("Fullest", load.fullest_litres, load.fullest_litres_at, load.space_litres, "litres"),
    )
