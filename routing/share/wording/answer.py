"""The answer of a round, told first in every output: before dark or not, when to leave, what to buy or ask."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from zoneinfo import ZoneInfo

from routing.daylight.sun import SunDay, sun_day
from routing.farm.models import Place, Rank
from routing.round import Itinerary, LeftOut, ReasonCode, RemedyKind, Round, Stop
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording import words
from routing.share.wording.persons import days_of

_PLURALS = {Rank.MUST: ("must", "musts"), Rank.WANT: ("want", "wants")}
"""The other ranks are words that have no plural: `3 passing jobs`."""

MOST_NAMED = 4
"""So many places are named in one line; the rest are counted."""

TWO = 2

_ASKED = (RemedyKind.MORE_PEOPLE, RemedyKind.OTHER_VEHICLE)


MOST_FIRST = 2
"""So many people's days are told before the chance; of more, they come last."""

FAULTY = "A fault of the program took away a part of this plan: see “Faults of the program”."


def answer_lines(round_: Round, chance: str = "") -> tuple[str, ...]:
    """Return the first lines of a round, a plain sentence or two each; `chance` is one sentence, empty if not known."""
    days = [_dated(round_, day, _day_line(round_, day)) for day in round_.itineraries[:1]]
    if len(round_.itineraries) > 1:
        days = _days_lines(round_)
    first, last = (days, []) if len(days) <= MOST_FIRST else ([], days)
    lines = [done_line(round_), *first, _idle_line(round_), plain_text(chance), FAULTY if round_.faults else ""]
    lines += [_left_line(round_), _remedy_line(round_, "Buy", (RemedyKind.MORE_STOCK,))]
    lines += [_remedy_line(round_, "Ask for", _ASKED), *last]
    return tuple(line for line in lines if line)


def crew_answer_lines(round_: Round, index: int) -> tuple[str, ...]:
    """Return the first lines of one crew's day: those of the round, cut to what is theirs where it has more days.

    What to buy and whom to ask is for whoever plans, not for whoever drives.
    """
    day = round_.itineraries[index]
    if len(round_.itineraries) == 1:
        chance = plain_text(round_.chance.text) if round_.chance else ""
        lines = (done_line(round_), _day_line(round_, day), chance, FAULTY if round_.faults else "", _left_line(round_))
        return tuple(line for line in lines if line)
    done = Counter(job.rank for stop in day.stops for job in stop.jobs)
    shares = [f"{done[rank]} {rank_words(rank, done[rank])}" for rank in Rank if done[rank]]
    light = _light_words(round_, (day,))
    told = f"{', '.join(shares)}, {'all ' if sum(done.values()) > 1 else ''}{light}." if shares else ""
    return tuple(line for line in (told, _day_line(round_, day), FAULTY if round_.faults else "") if line)


def done_line(round_: Round) -> str:
    """Return how much of each rank is planned, and whether all of it lies before dark.

    Dark is from civil dusk to civil dawn where the stop is.
    """
    done = Counter(job.rank for day in round_.itineraries for stop in day.stops for job in stop.jobs)
    due = done + Counter(job.rank for left in _due(round_) for job in left.jobs)
    if not due:
        return "Nothing is due."
    shares = {rank: _share(rank, done[rank], due[rank], certain=not round_.faults) for rank in Rank if due[rank]}
    if not done:
        return f"Nothing is planned: {', '.join(shares.values())}."
    first = [text for rank, text in shares.items() if _must_be_done(rank)]
    rest = [text for rank, text in shares.items() if not _must_be_done(rank)]
    text = f"{', '.join(first or rest)} {_light_words(round_, round_.itineraries)}"
    ending = f"; {', '.join(rest)}" if first and rest else ""
    return f"{text[0].upper()}{text[1:]}{ending}."


def _share(rank: Rank, done: int, due: int, *, certain: bool) -> str:
    """Return `all 8 musts`, `2 of 6 wants` or `none of the 6 wants`; of a damaged round only what is planned."""
    one, many = rank_words(rank, 1), rank_words(rank, TWO)
    if not certain:
        return f"{done} {rank_words(rank, done)} planned"
    if due == 1:
        return f"the one {one}" if done else f"not the one {one}"
    if done == due:
        return f"both {many}" if due == TWO else f"all {due} {many}"
    return f"{done} of {due} {many}" if done else f"none of the {due} {many}"


def rank_words(rank: Rank, number: int) -> str:
    """Return `must`, `musts`, `passing job`."""
    one, many = _PLURALS.get(rank, (f"{rank.value} job", f"{rank.value} jobs"))
    return one if number == 1 else many


def _must_be_done(rank: Rank) -> bool:
    """Return whether a rank is must or above it."""
    ranks = list(Rank)
    return ranks.index(rank) <= ranks.index(Rank.MUST)


def _light_words(round_: Round, days: Sequence[Itinerary]) -> str:
    dark = [plain_name(stop.name) for day in days for stop in day.at_sites if _in_the_dark(round_, day, stop)]
    if not dark:
        return "before dark"
    return f"in the light needed (in the dark, as the work allows: {_named(dark)})"


def _in_the_dark(round_: Round, day: Itinerary, stop: Stop) -> bool:
    """Return whether any of a stop's work lies before civil dawn or after civil dusk of its day."""
    place = Place(latitude=stop.latitude, longitude=stop.longitude)
    sun: SunDay = sun_day(place, day.date, ZoneInfo(round_.time_zone))
    if sun.always_up or sun.twilight_all_night:
        return False
    if sun.no_twilight:
        return True
    early = sun.civil_dawn is not None and stop.start < sun.civil_dawn
    return early or (sun.civil_dusk is not None and stop.finish > sun.civil_dusk)


def _day_line(round_: Round, day: Itinerary) -> str:
    leave, home = _ends(round_, day)
    wanted = words.clock(words.minute_by(day.home_by), day.date, ZoneInfo(round_.time_zone))
    where = "" if round_.start is None else f" {plain_name(round_.start.name)}"
    return f"Leave{where} {leave}, home {home} (wanted by {wanted})."


def _dated(round_: Round, day: Itinerary, line: str) -> str:
    """Return the line with the date before it, where the round has other days too."""
    return line if len(round_.dates) == 1 else f"{words.short_date(day.date)}: {line[0].lower()}{line[1:]}"


def _days_lines(round_: Round) -> list[str]:
    """Return a line for each person or crew, with all its days."""
    several = len(round_.dates) > 1
    lines: dict[str, None] = {}
    for first in round_.itineraries:
        told = []
        for day in days_of(round_, first):
            leave, home = _ends(round_, day)
            told.append(f"{words.short_date(day.date) + ' ' if several else ''}leave {leave}, home {home}")
        lines[f"{plain_name(first.crew_name)}: {'; '.join(told)}."] = None
    return list(lines)


def _idle_line(round_: Round) -> str:
    """Return the days of a round on which nobody goes out."""
    out = {day.date for day in round_.itineraries}
    idle = [words.short_date(date) for date in round_.dates if date not in out]
    return f"Nothing is planned on {_named(idle)}." if idle and out else ""


def _ends(round_: Round, day: Itinerary) -> tuple[str, str]:
    zone = ZoneInfo(round_.time_zone)
    leave, home = words.minute_by(day.leave), words.minute_reached(day.home)
    return words.clock(leave, day.date, zone), words.clock(home, day.date, zone)


def _left_line(round_: Round) -> str:
    names = dict.fromkeys(
        f"{plain_name(left.name)} ({left.reason.value})"
        for left in _due(round_)
        if any(_must_be_done(job.rank) for job in left.jobs)
    )
    return f"Left out that must be done: {_named(list(names))}." if names else ""


def _remedy_line(round_: Round, verb: str, kinds: Sequence[RemedyKind]) -> str:
    """Return what would let left-out jobs be done, for the first two; lesser ones only where no must needs it.

    Where musts are left out that it does not help, it is told whose rank it is for: else it would be read as theirs.
    """
    found = [(left, remedy) for left in _due(round_) for remedy in left.remedies if remedy.kind in kinds]
    urgent = [(left, remedy) for left, remedy in found if any(_must_be_done(job.rank) for job in left.jobs)]
    lesser = not urgent and any(_must_be_done(job.rank) for left in _due(round_) for job in left.jobs)
    told = []
    for left, remedy in (urgent or found)[:2]:
        what, beside, rest = plain_text(remedy.text).partition(", with ")
        rank = f" ({min((job.rank for job in left.jobs), key=list(Rank).index)})" if lesser else ""
        told.append(f"{what}, for {plain_name(left.name)}{rank}{beside}{rest}")
    return f"{verb}: {'; '.join(told)}." if told else ""


def _due(round_: Round) -> list[LeftOut]:
    return [left for left in round_.left_out if left.reason is not ReasonCode.NOT_DUE]


def _named(names: Sequence[str]) -> str:
    more = len(names) - MOST_NAMED
    return ", ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
