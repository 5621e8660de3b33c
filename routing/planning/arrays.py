"""Planning from plain arrays, for anyone with a routing problem and no farm: numbers in, orders and bounds out."""

from __future__ import annotations

from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypedDict, Unpack

import numpy as np
from numpy.typing import ArrayLike, NDArray

from routing.errors import AskedError
from routing.planning.array_checks import LARGEST_PRIZE, one_whole, positive, whole
from routing.planning.model.problem import (
    NO_LIMIT,
    RANKS,
    Orders,
    Problem,
    Route,
    Supply,
    Task,
    Visit,
    rank_score,
    served,
)
from routing.planning.model.timing import timeline
from routing.planning.running.parts import MOST_ALONE, Parts
from routing.planning.search.solution import Solution
from routing.planning.search.solve import solve

if TYPE_CHECKING:
    from collections.abc import Callable

MOST_CREW_DAYS = 10_000
DAY_SECONDS = 24 * 3600
TABLE = 2
"""Dimensions of an array of rows and columns."""
NO_LOAD_LIMIT = 2**40


@dataclass(frozen=True)
class Stop:
    """One visit of a route: the place (row of the arrays, from 1) and when work there starts and finishes."""

    place: int
    start: int
    finish: int


@dataclass(frozen=True)
class ArrayRoute:
    """One crew's day. Seconds count from the first day's midnight."""

    day: int
    crew: int
    leave: int
    home: int
    metres: int
    stops: tuple[Stop, ...]
    returns: tuple[int, ...] = ()
    """How many stops are done each time that base is come back to for another load, rising."""


@dataclass(frozen=True)
class ArrayPlan:
    """What `plan_arrays` found and how good it is."""

    routes: tuple[ArrayRoute, ...]
    """Those that go out, by day and crew."""
    left_out: tuple[int, ...]
    """Places that nobody visits, rising."""
    served: tuple[int, ...]
    """Shape (3,): prizes collected by rank."""
    served_bounds: tuple[int, ...]
    """Shape (3,): nobody collects more in the first rank whose bound exceeds what was collected."""
    away_seconds: int
    away_bound: int
    """No routes to the same places are away for less in all; 0 where nothing is known."""
    metres: int
    metres_bound: int
    """No routes to the same places are shorter in all; 0 where nothing is known, or time comes first."""
    proven: bool
    """Whether prizes by rank and time away (or distance, where it comes first) are proven best."""


class ArrayOptions(TypedDict, total=False):
    """What `plan_arrays` can be told besides, by name; its docstring says what each is and what stands for none."""

    crews: int
    days: int
    metres: ArrayLike | None
    loads: ArrayLike | None
    capacity: ArrayLike | None
    ranks: ArrayLike | None
    prizes: ArrayLike | None
    most_trips: int
    reload_seconds: int
    break_seconds: int
    break_after_seconds: int
    distance_first: bool
    work: float
    seconds: float | None
    seed: int
    progress: Callable[[Orders], None] | None
    executor: Executor | None


def plan_arrays(
    travel_seconds: ArrayLike,
    work_seconds: ArrayLike,
    windows: ArrayLike,
    *,
    shift: tuple[int, int],
    **options: Unpack[ArrayOptions],
) -> ArrayPlan:
    """Return routes that collect the most prizes of rank 0, then 1, then 2, then are away least, then drive least.

    Every number is whole (scale fractions first), times are seconds. Place 0 is the base, the `n` others are visited at
    most once, by one crew on one day:
    `travel_seconds` and `metres` (default: the same) have shape (n + 1, n + 1), [from, to], negative for no way;
    `work_seconds` has shape (n,), or (crews, n) where crews differ (`crews` and `days` are 1 by default);
    `windows` has shape (n, 2), or (days, n, 2): work starts and finishes in it; [1, 0] stands for a closed day;
    `shift` is when crews may leave and must be home, like `windows` in seconds since midnight;
    `loads` has shape (n,), carried out from base, at most `capacity` (one number or shape (crews,)) a trip;
    `most_trips` (1) is how often a crew may leave base on a day: where one load is not enough it comes back, and
    loading again takes `reload_seconds` (0);
    `break_seconds` (0) are taken where a crew is away for longer than `break_after_seconds` (a day);
    `ranks` has shape (n,), 0 to 3 (default 0), and `prizes` shape (n,), 1 or more (default 1);
    where `distance_first`, the least distance comes before the least time away.
    `work` (60), `seconds`, `seed` (1) and `progress` are those of `solve`. Parts of the work go through an `executor`
    (`concurrent.futures`), of a cluster for instance; without one through processes here, for more than 40 places. The
    routes are the same either way, unless `seconds` are given. Raises AskedError, which names the argument
    and the place in it, for whatever is not as said here: fractions, infinities, text, numbers beyond 10 ** 9 (prizes
    10 ** 6); TypeError for an option that there is not.
    """
    if unknown := options.keys() - ArrayOptions.__annotations__.keys():
        raise TypeError(f"plan_arrays() has no option {min(unknown)!r}")
    crews = one_whole("crews", options.get("crews", 1), least=1, most=MOST_CREW_DAYS)
    days = one_whole("days", options.get("days", 1), least=1, most=MOST_CREW_DAYS // crews)
    read = _read(travel_seconds, work_seconds, windows, (crews, days), options)
    hours = _hours(shift, options)
    work, seconds, seed = _effort(options)
    progress, distance_first = options.get("progress"), options.get("distance_first", False)
    if progress is not None and not callable(progress):
        raise AskedError("progress must be a function that hears of orders, or None")
    executor = options.get("executor")
    if executor is not None and not isinstance(executor, Executor):
        raise AskedError("executor must be a concurrent.futures.Executor, or None")
    problem = replace(_problem(read, hours), distance_first=distance_first)
    everything = frozenset(range(len(read.travel) - 1))
    with Parts(executor, few=len(everything) <= MOST_ALONE) as parts:
        found = solve(problem, everything, work, seconds=seconds, seed=seed, progress=progress, parts=parts)
    return _plan(problem, crews, found)


@dataclass(frozen=True)
class Hours:
    """When every crew works: leaves at the earliest, is home at the latest, rests, and loads again."""

    shift: tuple[int, int]
    break_seconds: int
    break_after_seconds: int
    most_trips: int
    reload_seconds: int


def _hours(shift: tuple[int, int], options: ArrayOptions) -> Hours:
    """Return when crews work. Raises AskedError for what is not as said in `plan_arrays`."""
    leave, home = (int(moment) for moment in whole("shift", shift, (2,)))
    if home < leave:
        raise AskedError(f"shift ends before it begins: {home} is less than {leave}")
    return Hours(
        (leave, home),
        one_whole("break_seconds", options.get("break_seconds", 0), least=0),
        one_whole("break_after_seconds", options.get("break_after_seconds", DAY_SECONDS), least=0),
        one_whole("most_trips", options.get("most_trips", 1), least=1),
        one_whole("reload_seconds", options.get("reload_seconds", 0), least=0),
    )


def _effort(options: ArrayOptions) -> tuple[float, float | None, int]:
    """Return how long is searched and from which seed. Raises AskedError for what is not as said in `plan_arrays`."""
    work, given = positive("work", options.get("work", 60)), options.get("seconds")
    seconds = None if given is None else positive("seconds", given)
    seed = one_whole("seed", options.get("seed", 1), least=0)
    if not isinstance(options.get("distance_first", False), bool):
        raise AskedError("distance_first must be True or False")
    return work, seconds, seed


@dataclass(frozen=True, eq=False)
class _Read:
    """The arrays in their full shapes."""

    travel: NDArray[np.int64]
    metres: NDArray[np.int64]
    work: NDArray[np.int64]
    windows: NDArray[np.int64]
    loads: NDArray[np.int64]
    capacity: NDArray[np.int64]
    ranks: NDArray[np.int64]
    prizes: NDArray[np.int64]


def _read(
    travel_seconds: ArrayLike,
    work_seconds: ArrayLike,
    windows: ArrayLike,
    sizes: tuple[int, int],
    options: ArrayOptions,
) -> _Read:
    """Return the arrays in their full shapes; `sizes` are crews and days. Raises AskedError."""
    crews, days = sizes
    metres, loads, capacity, ranks, prizes = (
        options.get(name) for name in ("metres", "loads", "capacity", "ranks", "prizes")
    )
    travel = whole("travel_seconds", travel_seconds)
    if travel.ndim != TABLE or travel.shape[0] != travel.shape[1] or not len(travel):
        raise AskedError(
            f"travel_seconds must be square, with a row for the base at least; its shape is {travel.shape}"
        )
    count = len(travel) - 1
    one = (count,)
    read = _Read(
        travel=travel,
        metres=travel if metres is None else whole("metres", metres, travel.shape),
        work=np.broadcast_to(whole("work_seconds", work_seconds, one, (crews, count), least=0), (crews, count)),
        windows=np.broadcast_to(whole("windows", windows, (count, 2), (days, count, 2)), (days, count, 2)),
        loads=np.zeros(one, dtype=np.int64) if loads is None else whole("loads", loads, one, least=0),
        capacity=np.broadcast_to(
            np.int64(NO_LOAD_LIMIT) if capacity is None else whole("capacity", capacity, (), (crews,), least=0),
            (crews,),
        ),
        ranks=np.zeros(one, dtype=np.int64) if ranks is None else whole("ranks", ranks, one, least=0, most=RANKS - 1),
        prizes=np.ones(one, dtype=np.int64)
        if prizes is None
        else whole("prizes", prizes, one, least=1, most=LARGEST_PRIZE),
    )
    if ((read.metres < 0) != (travel < 0)).any():
        here, there = np.argwhere((read.metres < 0) != (travel < 0))[0]
        raise AskedError(f"metres[{here}, {there}] and travel_seconds there do not agree whether there is a way")
    for day, place in np.argwhere(
        (read.windows[..., 1] < read.windows[..., 0]) & (read.windows != [1, 0]).any(axis=-1)
    ):
        at = f"{place}" if np.ndim(windows) == TABLE else f"{day}, {place}"
        raise AskedError(f"windows[{at}] closes before it opens; a closed day is written as [1, 0]")
    return read


def _problem(read: _Read, hours: Hours) -> Problem:
    days, count = read.windows.shape[:2]
    spans = read.windows + DAY_SECONDS * np.arange(days)[:, None, None]
    tasks = tuple(
        Task(0, int(rank), int(prize), ((0, int(load)),) if load else ())
        for rank, prize, load in zip(read.ranks, read.prizes, read.loads, strict=True)
    )
    visits = tuple(
        Visit(i + 1, int(spans[day, i, 0]), int(spans[day, i, 1]), (i,), day=day)
        for day in range(days)
        for i in range(count)
        if spans[day, i, 0] <= spans[day, i, 1]
    )
    routes = tuple(
        Route(
            earliest_leave=hours.shift[0] + day * DAY_SECONDS,
            home_by=hours.shift[1] + day * DAY_SECONDS,
            payload_grams=int(capacity),
            space_millilitres=NO_LOAD_LIMIT,
            break_seconds=hours.break_seconds,
            break_after_seconds=hours.break_after_seconds,
            work_seconds=tuple(work.tolist()),
            allowed=(True,) * count,
            drive_seconds=read.travel,
            drive_metres=read.metres,
            day=day,
            most_trips=hours.most_trips,
            reload_seconds=hours.reload_seconds,
        )
        for day in range(days)
        for work, capacity in zip(read.work, read.capacity, strict=True)
    )
    return Problem((Supply(0, NO_LIMIT, 1.0, 0.0),), tasks, visits, routes)


def _plan(problem: Problem, crews: int, solution: Solution) -> ArrayPlan:
    routes = []
    for number, order in enumerate(solution.orders):
        times = timeline(problem, number, order) if order else None
        if times is None:
            continue
        stops = tuple(
            Stop(problem.visits[planned.visit].place, start, finish)
            for planned, start, finish in zip(order, times.starts, times.finishes, strict=True)
        )
        returns = tuple(one.before for one in times.returns)
        day, crew = divmod(number, crews)
        routes.append(ArrayRoute(day, crew, times.leave, times.home, times.metres, stops, returns))
    done = served(solution.orders)
    return ArrayPlan(
        routes=tuple(routes),
        left_out=tuple(task + 1 for task in range(len(problem.tasks)) if task not in done),
        served=rank_score(problem, done),
        served_bounds=solution.rank_bounds,
        away_seconds=sum(route.home - route.leave for route in routes),
        away_bound=0 if problem.distance_first else solution.away_bound,
        metres=sum(route.metres for route in routes),
        metres_bound=solution.away_bound if problem.distance_first else 0,
        proven=solution.proven,
    )
