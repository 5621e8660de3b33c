"""The best rest of a day by trying every order of every set, of what a crew's page is asked: written anew, slow, plain."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations
from math import ceil, floor
from typing import Any

Asked = dict[str, Any]
Key = tuple[tuple[int, ...], bool, int]
RANKS = 4
START, BASE = -1, -2


@dataclass(frozen=True)
class Done:
    """A job that is done, wholly or at some of its hives."""

    stop: int
    job: int
    hives: int | None = None
    """None for all of them."""


@dataclass(frozen=True)
class Day:
    """A day under way."""

    clock: int
    at: int = START
    stops: tuple[tuple[Done, ...], ...] = ()
    first: int | None = None
    """How many stops were made before base; None where it was not come back to."""
    rested: bool | None = None
    """Whether the break was at a suspect site; None where there was none yet."""


def best_by_hand(asked: Asked, *, at_once: bool) -> Key | None:
    """Return weight by rank, whether no break is at a suspect site, and home (negative); None where nothing can be done.

    Where `at_once`, all that a trip from base takes and brings is held against payload and space together; else as it
    comes on and off.
    """
    return max(_days(asked, Day(asked["now"]), at_once=at_once), default=None)


def _days(asked: Asked, day: Day, *, at_once: bool) -> Iterator[Key]:
    if day.stops and (key := _at_home(asked, day, at_once=at_once)) is not None:
        yield key
    for begun in (day, *_again(asked, day)):
        for stop in range(len(asked["stops"])):
            for jobs in _work(asked, begun, stop):
                yield from (
                    key for longer in _on(asked, begun, stop, jobs) for key in _days(asked, longer, at_once=at_once)
                )


def _again(asked: Asked, day: Day) -> Iterator[Day]:
    """Yield being loaded again at base, with the break there and without, where one load would not do."""
    base, suspect = asked["base"], day.at >= 0 and asked["stops"][day.at]["last"]
    back = asked["outHome"] if day.at == START else asked["home"][day.at]
    every = [Done(stop, job) for stop, here in enumerate(asked["stops"]) for job in range(len(here["jobs"]))]
    if base is None or day.first is not None or suspect or back < 0 or one_load(asked, every):
        return
    arrive = day.clock + back
    if asked["breakSeconds"] and day.rested is None and arrive > asked["now"] + asked["breakAfter"]:
        return
    pauses = [(0, day.rested)]
    if asked["breakSeconds"] and day.rested is None:
        pauses.append((asked["breakSeconds"], False))
    for pause, rested in pauses:
        ready = arrive + pause + base["loading"]
        if ready <= asked["homeBy"]:
            yield replace(day, clock=ready, at=BASE, first=len(day.stops), rested=rested)


def _work(asked: Asked, day: Day, stop: int) -> Iterator[tuple[Done, ...]]:
    """Yield every set of what is not done at a stop; of one job of the day some of its hives, if it takes something."""
    done = [one for made in day.stops for one in made]
    left = [
        job for job in range(len(asked["stops"][stop]["jobs"])) if (stop, job) not in {(d.stop, d.job) for d in done}
    ]
    parted = any(one.hives is not None for one in done)
    for size in range(1, len(left) + 1):
        for chosen in combinations(left, size):
            whole = tuple(Done(stop, job) for job in chosen)
            yield whole
            for place, one in enumerate(whole if not parted else ()):
                job = asked["stops"][stop]["jobs"][one.job]
                for hives in range(1, job["hives"]) if job["usesEach"] else ():
                    yield (*whole[:place], replace(one, hives=hives), *whole[place + 1 :])


def _on(asked: Asked, day: Day, stop: int, jobs: tuple[Done, ...]) -> Iterator[Day]:
    here = asked["stops"][stop]
    if day.at >= 0 and asked["stops"][day.at]["last"] and not here["last"]:
        return
    if day.at == stop:
        drive = 0
    else:
        rows = {START: asked["out"], BASE: asked["base"] and asked["base"]["out"]}
        drive = (rows[day.at] if day.at < 0 else asked["drives"][day.at])[stop]
    if drive < 0:
        return
    pauses = [(0, day.rested)]
    in_time = day.at == START or day.clock <= asked["now"] + asked["breakAfter"]
    if asked["breakSeconds"] and day.rested is None and day.at != BASE and in_time:
        pauses.append((asked["breakSeconds"], asked["stops"][day.at if day.at >= 0 else stop]["last"]))
    mask = sum(1 << one.job for one in jobs)
    work = [_facts(asked, one) for one in jobs]
    seconds = here["walk"] + max(one["setUp"] for one in work) + sum(one["work"] for one in work)
    for pause, rested in pauses:
        ends = [
            max(opens, day.clock + drive + pause) + seconds
            for opens, closes, which in here["windows"]
            if which & mask == mask and max(opens, day.clock + drive + pause) + seconds <= closes
        ]
        if ends and min(ends) <= asked["homeBy"]:
            yield replace(day, clock=min(ends), at=stop, stops=(*day.stops, jobs), rested=rested)


def _facts(asked: Asked, one: Done) -> dict[str, Any]:
    """Return what a job takes, brings and counts, at all of its hives or some."""
    job: dict[str, Any] = asked["stops"][one.stop]["jobs"][one.job]
    if one.hives is None:
        return job
    return {
        **job,
        "work": _up(job["each"] * one.hives),
        "uses": [[supply, _up(each * one.hives)] for supply, each in job["usesEach"]],
        "brings": [[supply, _up(each * one.hives)] for supply, each in job["bringsEach"]],
        "weight": floor(job["whole"] * one.hives / job["of"]),
    }


def _up(value: float) -> int:
    return ceil(round(value, 6))


def _at_home(asked: Asked, day: Day, *, at_once: bool) -> Key | None:
    home = day.clock + (asked["home"][day.at] if day.at >= 0 else 0)
    due = asked["breakSeconds"] > 0 and day.rested is None and home - asked["now"] > asked["breakAfter"]
    if day.at < 0 or asked["home"][day.at] < 0 or home > asked["homeBy"] or due:
        return None
    if not _has_enough(asked, day) or not _is_carried(asked, day, at_once=at_once):
        return None
    parts = [one for made in day.stops for one in made if one.hives is not None]
    if parts and _has_enough(asked, replace(day, stops=tuple(tuple(map(_whole, made)) for made in day.stops))):
        return None  # hives are left out only for want of what they take
    score = [0] * RANKS
    for made in day.stops:
        for one in made:
            score[_facts(asked, one)["rank"]] += _facts(asked, one)["weight"]
    return tuple(score), not day.rested, -home


def _whole(one: Done) -> Done:
    return replace(one, hives=None)


def _amounts(asked: Asked, stops: tuple[tuple[Done, ...], ...], what: str) -> list[int]:
    found = [0] * len(asked["board"])
    for made in stops:
        for one in made:
            for supply, amount in _facts(asked, one)[what]:
                found[supply] += amount
    return found


def _trips(day: Day) -> tuple[tuple[tuple[Done, ...], ...], tuple[tuple[Done, ...], ...]]:
    first = len(day.stops) if day.first is None else day.first
    return day.stops[:first], day.stops[first:]


def _has_enough(asked: Asked, day: Day) -> bool:
    now, then = (_amounts(asked, stops, "uses") for stops in _trips(day))
    for supply, board in enumerate(asked["board"]):
        stock = asked["base"]["stock"][supply] if asked["base"] else 0
        if now[supply] > board or (then[supply] and stock is not None and now[supply] + then[supply] > board + stock):
            return False
    return True


def _put_on(asked: Asked, first: list[int], later: list[int]) -> list[int]:
    found = []
    for supply, board in enumerate(asked["board"]):
        short = max(0, later[supply] - (board - first[supply]))
        pack, stock = asked["supplies"][supply]["pack"], asked["base"]["stock"][supply]
        whole = -(-short // pack) * pack if pack else short
        found.append(whole if stock is None else min(whole, stock))
    return found


def _is_carried(asked: Asked, day: Day, *, at_once: bool) -> bool:
    """Return whether nothing is ever too heavy or too large; without a thing brought nothing has become more."""
    first, later = _trips(day)
    board = asked["board"]
    hives = asked["hives"]
    for made in range(1, len(first) + 1):
        used, back = _amounts(asked, first[:made], "uses"), _amounts(asked, first[:made], "brings")
        on = [a - b + c for a, b, c in zip(board, used, back, strict=True)]
        off, held = _off(asked, first[:made]), _held(asked, first[made - 1])
        brings = any(_facts(asked, one)["brings"] for stop in first[:made] for one in stop)
        more = [a - b for a, b in zip(asked["brought"], off, strict=True)]
        if (brings and not _within(asked, on, more)) or (
            held and not _within(asked, on, [a + b for a, b in zip(more, held, strict=True)])
        ):
            return False
    if not later:
        return True
    used = _amounts(asked, first, "uses")
    put = _put_on(asked, used, _amounts(asked, later, "uses"))
    leaves = [a - b + c for a, b, c in zip(board, used, put, strict=True)]
    more = [a - b for a, b in zip(hives, _off(asked, first), strict=True)]
    for made in range(len(later) + 1):
        back = _amounts(asked, later if at_once else later[:made], "brings")
        gone = [0] * len(board) if at_once else _amounts(asked, later[:made], "uses")
        on = [a - b + c for a, b, c in zip(leaves, gone, back, strict=True)]
        held = _held(asked, later[made - 1]) if made else [0, 0]
        off = [0, 0] if at_once else _off(asked, later[:made])
        if not _within(asked, on, [a + b - c for a, b, c in zip(more, held or [0, 0], off, strict=True)]):
            return False
    return True


def _off(asked: Asked, stops: tuple[tuple[Done, ...], ...]) -> list[float]:
    found = [0.0, 0.0]
    for made in stops:
        for one in made:
            for measure, amount in enumerate(_facts(asked, one).get("off", [0, 0])):
                found[measure] += amount
    return found


def _held(asked: Asked, made: tuple[Done, ...]) -> list[float] | None:
    return next((asked["stops"][one.stop]["jobs"][one.job].get("held") for one in made), None)


def _within(asked: Asked, amounts: list[int], more: list[float]) -> bool:
    for measure, name, most in ((0, "grams", "payload"), (1, "millilitres", "space")):
        load = sum(a * supply[name] for a, supply in zip(amounts, asked["supplies"], strict=True)) + more[measure]
        if asked[most] is not None and _up(load) > asked[most]:
            return False
    return True


def one_load(asked: Asked, every: list[Done]) -> bool:
    """Return whether what is on board would do for all the work, and could all be carried."""
    day = Day(asked["now"], stops=tuple((one,) for one in every))
    return _has_enough({**asked, "base": None}, day) and _is_carried(asked, day, at_once=True)
