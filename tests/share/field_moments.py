"""Random moments in the field, the same moment as a problem of the planning, and its best answer by trying all orders."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np

from routing.planning.model.problem import Order, Problem, Route, Task, Visit
from routing.planning.model.supply_on_board import OnBoard
from routing.planning.model.timing import timeline

Moment = dict[str, Any]

NOON = 43_200
RANKS = 4
ROOMY = 10**9


def random_moment(seed: int, most_stops: int, *, brings: bool = False) -> Moment:
    """Return what the search is asked: three to `most_stops` stops, with breaks, windows, suspect sites and loads.

    Where `brings`, jobs bring something back and payload and space bind.
    """
    dice = random.Random(seed)
    stops = dice.randint(3, most_stops)
    at = [(dice.random(), dice.random()) for _ in range(stops + 2)]
    now = NOON + dice.randrange(-7200, 7200)
    home_by = now + dice.choice([600, 1500, 2500, 4000]) * stops + dice.randrange(3600)
    supplies = dice.choice([0, 1, 2])

    def drive(start: tuple[float, float], end: tuple[float, float]) -> int:
        shut = dice.random() < 0.02
        return -1 if shut else 120 + round(3000 * ((start[0] - end[0]) ** 2 + (start[1] - end[1]) ** 2) ** 0.5)

    return {
        "now": now,
        "homeBy": home_by,
        "breakSeconds": dice.choice([0, 1200, 1800]),
        "breakAfter": dice.choice([0, 1800, 5400, 10800, 21600]),
        "out": [drive(at[-2], place) for place in at[:stops]],
        "home": [drive(place, at[-1]) for place in at[:stops]],
        "outHome": 600,
        "drives": [[0 if place is other else drive(place, other) for other in at[:stops]] for place in at[:stops]],
        "payload": dice.randint(100, 400) * 1000 if brings else None,
        "space": dice.randint(100, 400) * 1000 if brings else None,
        "brought": [dice.randint(0, 50_000), 0] if brings else [0, 0],
        "board": [dice.randint(0, 60_000) for _ in range(supplies)],
        "supplies": [{"grams": dice.choice([1.0, 1.4]), "millilitres": 1.1} for _ in range(supplies)],
        "stops": [_stop(dice, now, home_by, supplies, brings=brings) for _ in range(stops)],
    }


def _stop(dice: random.Random, now: int, home_by: int, supplies: int, *, brings: bool) -> dict[str, Any]:
    jobs = [_job(dice, supplies, brings=brings) for _ in range(dice.choice([1, 1, 1, 2]))]
    every = (1 << len(jobs)) - 1
    windows = [[0, home_by + dice.randrange(-3000, 600), every]]
    if dice.random() < 0.3:
        opens = now + dice.randrange(0, max(1, home_by - now))
        windows = [[opens, opens + dice.randrange(2000, 9000), every]]
    if dice.random() < 0.2:
        windows = [[0, now + 3000, every], [now + 5000, home_by, every]]
    if len(jobs) > 1 and dice.random() < 0.4:
        windows.append([windows[0][0], windows[0][1] + 1500, 1])
    return {
        "walk": dice.choice([0, 60, 301]),
        "last": dice.random() < 0.12,
        "windows": windows,
        "jobs": jobs,
    }


def _job(dice: random.Random, supplies: int, *, brings: bool) -> dict[str, Any]:
    taken = [[supply, dice.randint(500, 25_000)] for supply in range(supplies) if dice.random() < 0.6]
    back = [[supply, dice.randint(500, 60_000)] for supply in range(supplies) if brings and dice.random() < 0.5]
    return {
        "setUp": dice.choice([0, 300, 600]),
        "work": dice.randint(300, 2400),
        "rank": dice.choice([0, 1, 1, 2, 2, 2, 3]),
        "weight": dice.choice([7, 7, 7, 10, 14]),
        "uses": taken,
        "brings": back,
    }


def as_problem(moment: Moment) -> Problem:
    """Return the moment as the planning knows it: the place out of which the first drive leads is where it stands."""
    tasks: list[Task] = []
    visits: list[Visit] = []
    work: list[int] = []
    for place, stop in enumerate(moment["stops"], start=1):
        first = len(tasks)
        tasks += [
            Task(
                job["setUp"],
                job["rank"],
                job["weight"],
                tuple(map(tuple, job["uses"])),
                tuple(map(tuple, job["brings"])),
            )
            for job in stop["jobs"]
        ]
        work += [job["work"] for job in stop["jobs"]]
        for opens, closes, mask in stop["windows"]:
            here = tuple(first + number for number in range(len(stop["jobs"])) if mask >> number & 1)
            if opens < closes:
                visits.append(Visit(place, opens, closes, here, stop["walk"], last_of_day=stop["last"]))
    seconds = np.array(
        [[0, *moment["out"]], *([back, *row] for back, row in zip(moment["home"], moment["drives"], strict=True))]
    )
    np.fill_diagonal(seconds, 0)
    route = Route(
        earliest_leave=moment["now"],
        leaves_by=moment["now"],
        home_by=moment["homeBy"],
        payload_grams=ROOMY if moment["payload"] is None else moment["payload"] - moment["brought"][0],
        space_millilitres=ROOMY if moment["space"] is None else moment["space"] - moment["brought"][1],
        break_seconds=moment["breakSeconds"],
        break_after_seconds=moment["breakAfter"],
        work_seconds=tuple(work),
        allowed=(True,) * len(tasks),
        drive_seconds=seconds,
        drive_metres=seconds,
    )
    supplies = tuple(
        OnBoard(0, board, each["grams"], each["millilitres"])
        for board, each in zip(moment["board"], moment["supplies"], strict=True)
    )
    return Problem(supplies, tuple(tasks), tuple(visits), (route,))


@dataclass(frozen=True)
class Answer:
    """The weight served by rank, whether the break is at a suspect site, and when the crew is home."""

    score: tuple[int, ...]
    at_suspect: bool
    home: int


def planned_answer(problem: Problem, order: Order) -> Answer:
    """Return what the planning's own times make of an order."""
    score = [0] * RANKS
    for planned in order:
        for task in planned.tasks:
            score[problem.tasks[task].rank] += problem.tasks[task].weight
    if not order:
        return Answer(tuple(score), at_suspect=False, home=0)
    times = timeline(problem, 0, order)
    assert times is not None
    stop = None if times.rest is None else times.rest.stop
    suspect = stop is not None and problem.visits[order[stop].visit].last_of_day
    return Answer(tuple(score), at_suspect=suspect, home=times.home)


def by_hand(moment: Moment) -> Answer:
    """Return the best of all orders of all sets of jobs, each with its break in every gap: nothing is left untried."""
    begun = _SoFar((), (), moment["now"], None)
    return max(_days(moment, begun), key=_key, default=Answer((0,) * RANKS, at_suspect=False, home=0))


@dataclass(frozen=True)
class _SoFar:
    """A day under way: the stops made, the jobs done, when the last was finished."""

    seen: tuple[int, ...]
    jobs: tuple[tuple[int, int], ...]
    clock: int
    at_suspect: bool | None
    """Whether the break was at a suspect site; None where there was none yet."""


def _key(answer: Answer) -> tuple[tuple[int, ...], bool, int]:
    return answer.score, not answer.at_suspect, -answer.home


def _days(moment: Moment, day: _SoFar) -> Iterator[Answer]:
    """Yield every day that goes on from here, the one that ends here among them."""
    if day.seen and (home := _home(moment, day)) is not None:
        done = [moment["stops"][stop]["jobs"][job] for stop, job in day.jobs]
        score = tuple(sum(job["weight"] for job in done if job["rank"] == rank) for rank in range(RANKS))
        yield Answer(score, bool(day.at_suspect), home)
    for there, chosen in _next(moment, day):
        for pause, at_suspect in _pauses(moment, day, there):
            finish = _finish(moment["stops"][there], chosen, day.clock + _drive(moment, day, there) + pause)
            if finish is not None:
                jobs = (*day.jobs, *((there, job) for job in chosen))
                yield from _days(moment, _SoFar((*day.seen, there), jobs, finish, at_suspect))


def _home(moment: Moment, day: _SoFar) -> int | None:
    back = moment["home"][day.seen[-1]]
    home: int = day.clock + back
    due = moment["breakSeconds"] > 0 and day.at_suspect is None and home - moment["now"] > moment["breakAfter"]
    return None if back < 0 or home > moment["homeBy"] or due else home


def _drive(moment: Moment, day: _SoFar, there: int) -> int:
    seconds: int = moment["drives"][day.seen[-1]][there] if day.seen else moment["out"][there]
    return seconds


def _next(moment: Moment, day: _SoFar) -> Iterator[tuple[int, tuple[int, ...]]]:
    """Yield every stop that may follow with every set of its jobs that is open and can be carried."""
    suspect = bool(day.seen) and moment["stops"][day.seen[-1]]["last"]
    for there, stop in enumerate(moment["stops"]):
        if _drive(moment, day, there) < 0 or (suspect and not stop["last"]):
            continue
        left = [job for job in range(len(stop["jobs"])) if (there, job) not in day.jobs]
        for size in range(1, len(left) + 1):
            for chosen in combinations(left, size):
                every = (*day.jobs, *((there, job) for job in chosen))
                if _carried(moment, [moment["stops"][at]["jobs"][job] for at, job in every]):
                    yield there, chosen


def _pauses(moment: Moment, day: _SoFar, there: int) -> Iterator[tuple[int, bool | None]]:
    """Yield going on without a pause, and with the break where it is still to come and not too late."""
    yield 0, day.at_suspect
    in_time = not day.seen or day.clock <= moment["now"] + moment["breakAfter"]
    if day.at_suspect is None and moment["breakSeconds"] and in_time:
        yield moment["breakSeconds"], moment["stops"][day.seen[-1] if day.seen else there]["last"]


def _finish(stop: dict[str, Any], chosen: tuple[int, ...], ready: int) -> int | None:
    here = [stop["jobs"][number] for number in chosen]
    seconds = stop["walk"] + max(job["setUp"] for job in here) + sum(job["work"] for job in here)
    ends = [
        max(ready, opens) + seconds
        for opens, closes, mask in stop["windows"]
        if all(mask >> number & 1 for number in chosen) and max(ready, opens) + seconds <= closes
    ]
    return min(ends, default=None)


def _carried(moment: Moment, jobs: list[dict[str, Any]]) -> bool:
    """Return whether what is on board is enough, and after the last of these jobs not too heavy or too large."""
    board = list(moment["board"])
    back = [0] * len(board)
    for job in jobs:
        for supply, amount in job["uses"]:
            board[supply] -= amount
        for supply, amount in job["brings"]:
            back[supply] += amount
    if min(board, default=0) < 0:
        return False
    if not any(job["brings"] for job in jobs):
        return True
    held = [a + b for a, b in zip(board, back, strict=True)]
    for measure, most, more in (("grams", "payload", 0), ("millilitres", "space", 1)):
        weight = sum(amount * supply[measure] for amount, supply in zip(held, moment["supplies"], strict=True))
        if moment[most] is not None and weight + moment["brought"][more] > moment[most] + 1e-6:
            return False
    return True


@dataclass(frozen=True)
class _Cut:
    """Some of the stops of the plan made in their order, until one of them."""

    day: _SoFar
    score: tuple[int, ...]
    used: tuple[int, ...]

    def beats(self, other: _Cut) -> bool:
        """Return whether whatever follows is no worse after this than after the other."""
        return (
            self.day.at_suspect == other.day.at_suspect
            and self.score >= other.score
            and self.day.clock <= other.day.clock
            and all(mine <= its for mine, its in zip(self.used, other.used, strict=True))
        )


def best_cut(moment: Moment) -> Answer:
    """Return the best day that makes stops in the order in which they are given, whatever is dropped from it.

    Of moments at which nothing is brought back.
    """
    supplies = len(moment["board"])
    begun = _Cut(_SoFar((), (), moment["now"], None), (0,) * RANKS, (0,) * supplies)
    best: list[list[_Cut]] = [[] for _ in moment["stops"]]
    for there in range(len(moment["stops"])):
        longer = [
            more
            for before in [begun, *(cut for cuts in best[:there] for cut in cuts)]
            for more in _cuts_on(moment, before, there)
        ]
        longer.sort(key=lambda cut: (cut.score, -cut.day.clock), reverse=True)
        for cut in longer:
            if not any(one.beats(cut) for one in best[there]):
                best[there].append(cut)
    days = [
        Answer(cut.score, bool(cut.day.at_suspect), home)
        for cuts in best
        for cut in cuts
        if (home := _home(moment, cut.day)) is not None
    ]
    return max(days, key=_key, default=Answer((0,) * RANKS, at_suspect=False, home=0))


def _cuts_on(moment: Moment, before: _Cut, there: int) -> Iterator[_Cut]:
    for stop, chosen in _next(moment, before.day):
        if stop != there:
            continue
        jobs = [moment["stops"][there]["jobs"][job] for job in chosen]
        score = tuple(was + sum(j["weight"] for j in jobs if j["rank"] == r) for r, was in enumerate(before.score))
        used = tuple(was + sum(a for j in jobs for s, a in j["uses"] if s == n) for n, was in enumerate(before.used))
        for pause, suspect in _pauses(moment, before.day, there):
            ready = before.day.clock + _drive(moment, before.day, there) + pause
            finish = _finish(moment["stops"][there], chosen, ready)
            if finish is not None:
                done = (*before.day.jobs, *((there, job) for job in chosen))
                yield _Cut(_SoFar((*before.day.seen, there), done, finish, suspect), score, used)
