"""The open due dates of one rule at one site.

A due date closes when its job is logged, for as many hives as were done, or when it is cancelled by name, and in no
other way: it is never dropped for being old, and the order in which entries were written does not matter. What was
missed in a season that is over stands beside the date of the season that is on, and never in its place. What fell due
before the log counts is not known to be undone; low stores are told anew by each heft or feed.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from routing.farm.models import Site
from routing.farm.year import DueRule
from routing.farm.year_words import EVENTS, SEEN
from routing.season.asked import Answer, Asked
from routing.season.calendar import Span, day_after, spans
from routing.season.due_feed import fed_when_low, stores_due
from routing.season.entries import Entry
from routing.season.opened import Open, together

EARLY_DAYS = 28
"""What is done once a season counts for it so many days before the season opens, where no other season is on then.
Common practice, no source."""

ALL_YEAR = ("01-01", "12-31")
"""First and last day of the season of a rule that names none."""
STORES_LOW = "stores-low"
"""What is seen, as `SEEN` has it, that a feed answers."""
_DAY = dt.timedelta(days=1)


def open_due(rule: DueRule, site: Site, asked: Asked) -> Open | None:
    """Return the due date of a rule at a site that is open now or next, however far ahead; None where there is none.

    A rule with days of the year always has one.
    """
    found = open_dues(rule, site, asked)
    return found[-1] if found else None


def open_dues(rule: DueRule, site: Site, asked: Asked) -> tuple[Open, ...]:
    """Return what was missed in seasons that are over, as one, and the date that is open now or next."""
    if rule.every_days:
        return _every(rule, site, asked)
    if rule.by:
        return _once(rule, site, asked)
    return _after(rule, site, asked) if rule.after else stores_due(rule, site, asked)


def _every(rule: DueRule, site: Site, asked: Asked) -> tuple[Open, ...]:
    """Return the next due date after the last time: so many days on, or the first day of a season.

    Where the log begins within a season, the last time may have been the day before: it is asked for at once, and
    surely due one interval after the log's beginning.
    """
    days = int(rule.every_days.value) if rule.every_days else 0
    last, part = _last_time(asked.answers(rule, site), site.colonies, days)
    gone = asked.cancelled(rule, site)
    if gone is not None and (last is None or gone > last):
        last, part = gone, ()
    fresh = sum(answer.hives for answer in part if (asked.on - answer.date).days < days)
    never = last is None and asked.record.begun is not None and _in_progress(rule, asked)
    since = asked.begun + _DAY * days * never if last is None else max(asked.begun, last + _DAY * days)
    why = f"every {days} days" + (f", last on {last}" if last else ", never logged")
    why += " with its kilograms" if rule.needs_stores_kg and last is None else ""

    def opened(season: Span, before: Span | None = None) -> Open:
        due = max(since, season.starts)
        known = not never or due > asked.begun + _DAY * days  # of a later season it is known again
        opens = min(max(season.starts, due - _DAY * rule.early_days), due) if known else asked.begun
        ends = season.ends + _DAY * days
        closes_on = max(due, before.starts - _DAY * days if before else asked.on)
        return Open(opens, due, ends, closes_on, why, site.colonies - fresh, known, missed=before is not None)

    seasons = spans(rule.starts, rule.ends, since, south=asked.south)
    first = next(seasons)
    if asked.on <= first.ends + _DAY * days:
        return (opened(first),)
    now = next(season for season in seasons if asked.on <= season.ends + _DAY * days)
    return opened(first, before=now), opened(now)


def _in_progress(rule: DueRule, asked: Asked) -> bool:
    """Return whether a season of a rule had begun before the log: its last time may be one that nobody wrote."""
    season = next(spans(rule.starts, rule.ends, asked.begun, south=asked.south))
    return season.starts < asked.begun


def _last_time(answers: Sequence[Answer], colonies: int, days: int) -> tuple[dt.date | None, tuple[Answer, ...]]:
    """Return since when every hive was done within one interval, and the parts that were done after that.

    Where it was done in parts, the day is that of the oldest that was needed.
    """
    last, parts = None, list[Answer]()
    for answer in answers:
        parts = [part for part in parts if (answer.date - part.date).days < days] + [answer]
        done = 0
        for part in reversed(parts):
            done += part.hives
            if done >= colonies:
                last, parts = part.date, []
                break
    return last, tuple(parts)


def _once(rule: DueRule, site: Site, asked: Asked) -> tuple[Open, ...]:
    """Return the due date of the season that is on or next where that is open, and those missed before as one."""
    answers, gone = asked.answers(rule, site), asked.cancelled(rule, site) or dt.date.min
    missed: list[Open] = []
    for season in spans(rule.starts, rule.ends, asked.begun, south=asked.south):
        since = counts_since(rule, season, asked)
        done = sum(answer.hives for answer in answers if answer.date >= since)
        if done < site.colonies and gone < season.starts:
            found = _in_season(rule, site, season, site.colonies - done, asked)
            if not found.missed:
                return (*together(missed), found)
            missed.append(found)
    raise AssertionError("the calendar has no end")


def counts_since(rule: DueRule, season: Span, asked: Asked) -> dt.date:
    """Return from when work counts for a season: a little before it opens, but not where another one was on then.

    The other may be of another rule for the same kind of work: mites are counted four times a year.
    """
    first = season.starts - _DAY * EARLY_DAYS
    for other in asked.season.due.values():
        if other.job == rule.job and other.by:
            for span in spans(other.starts, other.ends, first, south=asked.south):
                if span.starts >= season.starts:
                    break
                first = max(first, min(span.ends + _DAY, season.starts))
    return first


def _in_season(rule: DueRule, site: Site, season: Span, hives: int, asked: Asked) -> Open:
    due, why = _once_by(rule, site, season, asked)
    known = due >= asked.begun or asked.record.begun is None or asked.ever_logged(rule, season.starts)
    if known:
        due = max(due, min(asked.begun, season.ends))
    return Open(season.starts, due, season.ends, season.starts, why, hives, known, missed=asked.on > season.ends)


def _once_by(rule: DueRule, site: Site, season: Span, asked: Asked) -> tuple[dt.date, str]:
    by = day_after(rule.by or rule.ends, season.starts, south=asked.south)
    why = f"by {by}"
    if rule.before_frost:
        usual = day_after(asked.season.first_frost, season.starts, south=asked.south)
        frost = min([usual, *([asked.frost_on] if asked.frost_on and asked.frost_on in season else [])])
        if frost <= by:
            by, why = frost - _DAY, f"before the first frost about {frost}"
    if rule.low_sites_days_earlier and site.id in asked.season.low_sites:
        by, why = by - _DAY * rule.low_sites_days_earlier, why + ", earlier here: its hives stand low"
    return min(season.ends, max(season.starts, by)), why


def _after(rule: DueRule, site: Site, asked: Asked) -> tuple[Open, ...]:
    """Return the due date of the earliest event that nothing has followed yet, for the hives of all such events.

    Work at some hives answers every event at the whole site before it; of events at some hives each, the oldest first.
    Where the rule has a season, events of seasons that are over stand beside those of the one that is on, as missed; an
    event that asks for nothing within a season asks for nothing.
    """
    least, _ = _days_after(rule)
    wait = _DAY * min(least, 1)
    gone = asked.cancelled(rule, site) or dt.date.min
    events = [entry for entry in asked.here.get(site.id, ()) if rule.after == entry.kind or rule.after in entry.seen]
    events = [entry for entry in events if entry.date + wait > gone]
    left = _unanswered(
        [(event, _concerned(rule, event, site)) for event in events], asked.answers(rule, site), site, wait
    )
    over: list[tuple[Entry, int]] = []
    still: list[tuple[Entry, int]] = []
    for event, hives in left:
        ends = _sense_ends(rule, event, asked)
        if ends is None or ends >= event.date + _DAY * least:
            (still if ends is None or ends >= asked.on else over).append((event, hives))
    return tuple(_after_events(rule, site, some, asked) for some in (over, still) if some)


def _days_after(rule: DueRule) -> tuple[int, int]:
    least = int(rule.earliest_days.value) if rule.earliest_days else 0
    return least, int(rule.latest_days.value) if rule.latest_days else least


def _sense_ends(rule: DueRule, event: Entry, asked: Asked) -> dt.date | None:
    """Return the last day on which it makes sense to answer an event; None where it always does.

    It is before the event's first day where that lies in no season of the rule.
    """
    if (rule.starts, rule.ends) == ALL_YEAR:
        return None
    opens = event.date + _DAY * _days_after(rule)[0]
    season = next(spans(rule.starts, rule.ends, opens, south=asked.south))
    return season.ends if opens in season else opens - _DAY


def _after_events(rule: DueRule, site: Site, left: Sequence[tuple[Entry, int]], asked: Asked) -> Open:
    """Return the due date of the first of some events, for the hives of all of them."""
    least, most = _days_after(rule)
    wait = _DAY * min(least, 1)
    first, _ = left[0]
    label = first.medicine.days_in if first.medicine else None
    earliest, latest = (label, label) if label else (least, most)
    ends = _sense_ends(rule, first, asked)
    due = first.date + _DAY * latest
    whole = [_concerned(rule, event, site) >= site.colonies for event, _ in left]
    everywhere = max((hives for (_, hives), all_of in zip(left, whole, strict=True) if all_of), default=0)
    somewhere = sum(hives for (_, hives), all_of in zip(left, whole, strict=True) if not all_of)
    why = f"{rule.after} on {first.date}" + (f", {label} days by the label" if label else "")
    if rule.after in SEEN and rule.after not in first.seen_in:
        why += "; the number of hives was not said" + (", so it is for all" if rule.hives == "all" else "")
    helpings, given = fed_when_low(rule, site, asked) if rule.after == STORES_LOW else (1, "")
    return Open(
        opens=first.date + _DAY * earliest,
        due=min(due, ends) if ends else due,
        ends=ends,
        closes_on=first.date + wait,
        why=why + given,
        hives=min(site.colonies, everywhere + somewhere),
        missed=ends is not None and asked.on > ends,
        helpings=helpings,
    )


def _concerned(rule: DueRule, event: Entry, site: Site) -> int:
    """Return how many hives of the site an event concerns."""
    if rule.after in event.seen_in:
        return min(event.seen_in[rule.after], site.colonies)
    if rule.after in SEEN or rule.after in EVENTS:
        return 1 if rule.hives == "seen" else site.colonies
    return site.colonies if event.hives is None else min(event.hives, site.colonies)


def _unanswered(
    events: Sequence[tuple[Entry, int]], answers: Sequence[Answer], site: Site, wait: dt.timedelta
) -> list[tuple[Entry, int]]:
    """Return the events that are not answered for all their hives, oldest first, and for how many they are not."""
    stock = {number: answer.hives for number, answer in enumerate(answers)}
    left = []
    for event, hives in events:
        after = [number for number, answer in enumerate(answers) if event.date + wait <= answer.date]
        if hives >= site.colonies:
            rest = hives - sum(answers[number].hives for number in after)
        else:
            rest = hives
            for number in after:
                taken = 0 if answers[number].hives >= site.colonies else min(rest, stock[number])
                rest -= rest if answers[number].hives >= site.colonies else taken
                stock[number] -= taken
        if rest > 0:
            left.append((event, rest))
    return left
