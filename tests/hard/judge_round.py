"""Whether a round keeps rules 1 to 15, every shown number worked out anew."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from routing.farm.models import BASE
from routing.round import Round, Stop
from tests.hard.complaint import Complaint, clock, span
from tests.hard.judge_cargo import judge_calls, judge_loads
from tests.hard.made import Made, made_of
from tests.hard.oracle import Oracle


def judge_round(round_: Round, oracle: Oracle) -> Iterator[Complaint]:
    """Yield what is false in the days of a round."""
    for fault in round_.faults:
        yield Complaint("fault told", fault)
    try:
        days = made_of(round_, oracle)
    except LookupError as error:
        yield Complaint("unknown stop", str(error))
        return
    world = oracle.world
    listed = Counter(job.id for day in round_.itineraries for stop in day.stops for job in stop.jobs)
    listed.update(job.id for left in round_.left_out for job in left.jobs)
    expected = Counter(work.job.id for work in world.works) + Counter(job.id for job in world.not_due)
    if listed != expected:
        yield Complaint("jobs not once", f"{dict(listed - expected)} too many, {dict(expected - listed)} missing")
    done = sum(made.mask for made in days)
    if not world.in_store(done):
        yield Complaint("stock passed", "more is used than there is")
    for made in days:
        for sort, text in (*_times(made), *_break(made), *_best(made), *judge_loads(made), *judge_calls(made)):
            soft = sort == "second break avoidable"
            yield Complaint(sort, f"{made.itinerary.crew} on {made.itinerary.date}: {text}", soft=soft)


def _same(sort: str, what: str, shown: object, true: object) -> Iterator[tuple[str, str]]:
    if shown != true:
        yield sort, f"{what} is {shown}, must be {true}"


def _times(made: Made) -> Iterator[tuple[str, str]]:
    """Yield what is wrong of drives, arrivals, work and windows, stop by stop."""
    day, world, itinerary = made.outing.day, made.outing.world, made.itinerary
    at = world.at
    leave, now, here = at(itinerary.leave), at(itinerary.leave), BASE
    if leave < day.earliest_leave:
        yield "leaves too early", f"leaves {clock(leave, world.zone)}"
    yield from _same("load from", "load_from", at(itinerary.load_from), leave - day.loading)
    yield from _same("home by", "home_by", at(itinerary.home_by), day.home_by)
    driven = metres = 0
    for stop in itinerary.stops:
        where = f"stop {stop.number} ({stop.site})"
        seconds, length = _leg(made, here, stop.site)
        yield from _same("drive", f"drive to {where}", (stop.drive.seconds, stop.drive.metres), (seconds, length))
        driven, metres = driven + seconds, metres + length
        yield from _same("arrive", f"arrive at {where}", at(stop.arrive), now + seconds)
        yield from _work(made, stop, where)
        now, here = at(stop.finish), stop.site
        if stop.rest is not None and at(stop.rest.start) >= now:
            now = at(stop.rest.start) + stop.rest.seconds
    seconds, length = _leg(made, here, BASE)
    home = now + seconds
    yield from _same("home", "home", at(itinerary.home), home)
    if home > day.home_by:
        yield "home too late", f"home {clock(home, world.zone)}"
    totals = (itinerary.away_seconds, itinerary.drive_seconds, itinerary.distance_metres)
    yield from _same("totals", "away, drive, metres", totals, (home - leave, driven + seconds, metres + length))
    marked = [call.marked for call in made.calls]
    if marked != sorted(marked):
        yield "suspect before healthy", "a site marked last_of_day has another after it"


def _leg(made: Made, here: str, there: str) -> tuple[int, int]:
    rows, day = made.outing.world.rows, made.outing.day
    return day.seconds[rows[here]][rows[there]], day.metres[rows[here]][rows[there]]


def _work(made: Made, stop: Stop, where: str) -> Iterator[tuple[str, str]]:
    """Yield what is wrong of one stop's work."""
    day, world = made.outing.day, made.outing.world
    at = world.at
    arrive, start, finish = at(stop.arrive), at(stop.start), at(stop.finish)
    rest = stop.rest.seconds if stop.rest is not None else 0
    opens = at(stop.window_opens)
    ready = arrive
    if stop.rest is not None and at(stop.rest.start) < finish:
        ready = at(stop.rest.start) + rest
    if stop.load_again is not None:
        yield from _same("loading again", f"{where} start and finish", (start, finish), (ready, ready + day.loading))
        yield from _same("loading again", f"{where} on site", stop.on_site_seconds, day.loading)
        return
    if stop.set_down is not None:
        seconds = world.move_seconds(next(w for w in world.works if w.job.id == stop.set_down.job), day)[2]
        true_start = arrive
    else:
        works = [work for job in stop.jobs for work in world.works if work.job.id == job.id]
        move = bool(works[0].job.to)
        seconds = world.move_seconds(works[0], day)[0] if move else world.seconds_at(works, day.crew)
        # waiting in the break's own spell ends with the break or the window, whichever is later
        true_start = max(ready, opens)
        for work, job in zip(works, stop.jobs, strict=True):
            yield from _same("work seconds", f"{job.id}", job.work_seconds, world.work_seconds(work, day.crew))
            yield from _same("overdue", f"{job.id}", job.days_overdue, world.overdue(work, day.date))
            yield from _same("rank", f"{job.id}", job.rank, work.job.rank)
    yield from _same("start", f"start at {where}", start, true_start)
    yield from _same("on site", f"on site at {where}", stop.on_site_seconds, seconds)
    yield from _same("finish", f"finish at {where}", finish, start + seconds)
    closes = at(stop.window_closes)
    if finish > closes or start < opens:
        yield "outside the window", f"{where}: {clock(start, world.zone)} to {clock(finish, world.zone)}"
    yield from _same("light left", f"light left at {where}", stop.light_left_seconds, closes - finish)


def _break(made: Made) -> Iterator[tuple[str, str]]:
    """Yield what is wrong of the break and of the caution that a second one is due."""
    day, world, itinerary = made.outing.day, made.outing.world, made.itinerary
    at = world.at
    rests = [(index, stop) for index, stop in enumerate(itinerary.stops) if stop.rest is not None]
    if len(rests) > 1:
        yield "two breaks", f"{len(rests)} breaks"
    second = [caution for caution in itinerary.cautions if "break" in caution.casefold()]
    if not rests:
        if second:
            yield "second break told", f"a caution without a first break: {second[0]}"
        return
    index, stop = rests[0]
    assert stop.rest is not None
    begins, ends = at(stop.rest.start), at(stop.rest.start) + stop.rest.seconds
    yield from _same("break seconds", "the break", stop.rest.seconds, day.rest)
    yield from _where(made, index, begins, ends)
    if stop.last_of_day:
        best = made.outing.best(made.calls)
        if best is not None and not best.marked_host:
            yield "break at a suspect site", f"at {stop.site} though another gap would do"
    due = _stretches(made, index, ends)
    if (max(due) > day.rest_after) != bool(second):
        yield "second break", f"without rest for {span(max(due))}; cautions {itinerary.cautions}"
    if max(due) > day.rest_after:
        yield from _avoidable(made)


def _stretches(made: Made, index: int, ends: int) -> list[int]:
    """Return the seconds from rest to rest after the break, and from the last one to home.

    A wait as long as a break is a rest, and so is all of the wait in which the break lies.
    """
    at, itinerary = made.outing.world.at, made.itinerary
    rested, found = ends, []
    for number_, stop in enumerate(itinerary.stops[index:], start=index):
        arrive, start = at(stop.arrive), at(stop.start)
        if number_ == index and ends <= start:
            rested = start
        elif number_ > index and start - arrive >= made.outing.day.rest:
            found.append(arrive - rested)
            rested = start
    return [*found, at(itinerary.home) - rested]


def _where(made: Made, index: int, begins: int, ends: int) -> Iterator[tuple[str, str]]:
    """Yield that the break is in the middle of something, after the last work, or begins too late."""
    day, world, itinerary = made.outing.day, made.outing.world, made.itinerary
    at, stop = world.at, itinerary.stops[index]
    leave, first = at(itinerary.leave), index == 0
    if stop.load_again is not None and begins >= at(stop.finish):
        good = begins == at(stop.finish)
    elif stop.set_down is not None or begins >= at(stop.finish):
        good = begins == at(stop.finish) and index < len(itinerary.stops) - 1
        good = good and not (stop.jobs and stop.jobs[0].to)
    else:
        good = at(stop.arrive) <= begins and ends <= at(stop.start)
    if not good:
        yield "break misplaced", f"break {clock(begins, world.zone)} at stop {stop.number} ({stop.site})"
    if begins > leave + day.rest_after and not (first and begins == at(stop.arrive)):
        yield "break too late", f"break begins {span(begins - leave)} after leaving, due after {span(day.rest_after)}"


def _avoidable(made: Made) -> Iterator[tuple[str, str]]:
    """Yield that another gap, alike in all else, would need no second break: worked out for a break before the work."""
    day = made.outing.day
    for other in made.outing.possible(made.calls):
        if other.cuts or made.cuts or other.gap < 0:
            continue
        now, here, rested, longest = other.leave, 0, 0, 0
        for position, call in enumerate(made.calls):
            arrive = now + day.seconds[here][call.enter]
            start = max(arrive + day.rest * (position == other.gap), call.opens)
            if rested and position != other.gap and start - arrive >= day.rest:
                longest, rested = max(longest, arrive - rested), start
            if position == other.gap:
                rested = start if not call.marked else now + day.rest
            now, here = start + call.seconds, call.leave
        if max(longest, other.home - rested) <= day.rest_after:
            yield "second break avoidable", f"with the break before work at {made.calls[other.gap].site} none is due"
            return


def _best(made: Made) -> Iterator[tuple[str, str]]:
    """Yield where departure, break or returns are not those that rule 10 says."""
    zone, itinerary = made.outing.world.zone, made.itinerary
    at = made.outing.world.at
    best = made.outing.best(made.calls)
    if best is None:
        yield "keeps not every rule", f"no times of the stops {[call.site for call in made.calls]} do"
        return
    rested = any(stop.rest is not None for stop in itinerary.stops)
    if rested != (best.gap >= 0):
        yield "break due or not", f"break {'taken' if rested else 'not taken'}; least away {span(best.away)}"
    shown = (itinerary.away_seconds, itinerary.distance_metres, -at(itinerary.leave), len(made.cuts))
    if shown != best.key:
        text = (
            f"leaves {clock(at(itinerary.leave), zone)}, away {span(itinerary.away_seconds)}, "
            f"{itinerary.distance_metres} m, returns {made.cuts}; must leave {clock(best.leave, zone)}, "
            f"away {span(best.away)}, {best.metres} m, returns {best.cuts}"
        )
        yield "not the times of rule 10", text
