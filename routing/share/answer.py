"""The answer of a round, told first in every output: before dark or not, when to leave, what to buy or ask."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from zoneinfo import ZoneInfo

from routing.daylight.sun import SunDay, sun_day
from routing.farm.models import Place, Rank
from routing.round import Itinerary, LeftOut, ReasonCode, RemedyKind, Round, Stop
from routing.share import words
from routing.share.safe import plain_name, plain_text

_PLURALS = {Rank.MUST: ("must", "musts"), Rank.WANT: ("want", "wants")}
"""The other ranks are words that have no plural: `3 passing jobs`."""

MOST_NAMED = 4
"""So many places are named in one line; the rest are counted."""

TWO = 2

_ASKED = (RemedyKind.MORE_PEOPLE, RemedyKind.OTHER_VEHICLE)


def answer_lines(round_: Round, chance: str = "") -> tuple[str, ...]:
    """Return the first lines of a round, a plain sentence or two each; `chance` is one sentence, empty if not known."""
    lines = [done_line(round_), plain_text(chance)]
    if round_.faults:
        lines.append("A fault of the program took away a part of this plan: see “Faults of the program”.")
    if len(round_.itineraries) == 1:
        lines.insert(1, _day_line(round_, round_.itineraries[0]))
    lines += [_left_line(round_), _remedy_line(round_, "Buy", (RemedyKind.MORE_STOCK,))]
    lines.append(_remedy_line(round_, "Ask for", _ASKED))
    if len(round_.itineraries) > 1:
        lines += _days_lines(round_)
    return tuple(line for line in lines if line)


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
    text = f"{', '.join(first or rest)} {_light_words(round_)}"
    ending = f"; {', '.join(rest)}" if first and rest else ""
    return f"{text[0].upper()}{text[1:]}{ending}."


def _share(rank: Rank, done: int, due: int, *, certain: bool) -> str:
    """Return `all 8 musts`, `2 of 6 wants` or `none of the 6 wants`; of a damaged round only what is planned."""
    one, many = _PLURALS.get(rank, (f"{rank.value} job", f"{rank.value} jobs"))
    if not certain:
        return f"{done} {one if done == 1 else many} planned"
    if due == 1:
        return f"the one {one}" if done else f"not the one {one}"
    if done == due:
        return f"both {many}" if due == TWO else f"all {due} {many}"
    return f"{done} of {due} {many}" if done else f"none of the {due} {many}"


def _must_be_done(rank: Rank) -> bool:
    """Return whether a rank is must or above it."""
    ranks = list(Rank)
    return ranks.index(rank) <= ranks.index(Rank.MUST)


def _light_words(round_: Round) -> str:
    dark = [
        plain_name(stop.name) for day in round_.itineraries for stop in day.at_sites if _in_the_dark(round_, day, stop)
    ]
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


def _days_lines(round_: Round) -> list[str]:
    """Return a line for each person or crew by name, with all its days."""
    several = len(round_.dates) > 1
    by_name: dict[str, list[str]] = {}
    for day in round_.itineraries:
        leave, home = _ends(round_, day)
        date = f"{words.short_date(day.date)} " if several else ""
        by_name.setdefault(plain_name(day.crew_name), []).append(f"{date}leave {leave}, home {home}")
    return [f"{name}: {'; '.join(days)}." for name, days in by_name.items()]


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
    """Return what would let left-out jobs be done, for the first two of them that it would."""
    found = [
        f"{plain_text(remedy.text)}, for {plain_name(left.name)}"
        for left in _due(round_)
        for remedy in left.remedies
        if remedy.kind in kinds
    ]
    return f"{verb}: {'; '.join(found[:2])}." if found else ""


def _due(round_: Round) -> list[LeftOut]:
    return [left for left in round_.left_out if left.reason is not ReasonCode.NOT_DUE]


def _named(names: Sequence[str]) -> str:
    more = len(names) - MOST_NAMED
    return ", ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
