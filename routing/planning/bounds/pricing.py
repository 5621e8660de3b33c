"""The most valuable walk of one crew-day: a relaxation of its possible orders.

A walk may come back to a task it has forgotten; it remembers those of a few neighbours of where it stands, so short
loops are out. Waits cost nothing. Every possible order is such a walk with at most its own cost, so what no walk beats,
no order beats.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from routing.planning.bounds.ng_labels import completion_bounds, moves, ng_routes
from routing.planning.bounds.walk_days import Day, step_of
from routing.planning.labelling.columns import BEGINS, EARLY, LAST, LATE, LINKED, NODE, PLACE, Real, Whole
from routing.planning.labelling.label_room import LabelRoom, nodes_of
from routing.planning.labelling.memory import WORD
from routing.planning.model.problem import Order, Planned
from routing.planning.running.compiled_ahead import BOUNDS, wait_for
from routing.planning.running.side_by_side import side_by_side

REMEMBERED_FOR_MORE = 8
"""Neighbours that a walk remembers at each node where a bound is to come nearer; else as many as are looked up."""


LOOKED_UP = {4: 160, 3: 250, 2: 400}
"""Neighbours that the table of what may still come remembers, by the most nodes."""

MOST_LABELS = 1_000_000
MOST_FOUND = 20_000

MOST_CHECKED = 1_000
"""Walks found that are looked at, the best first, for those that keep all limits of their kind of day."""

NEAR_TOP = (0.15, 0.3, 0.5, 0.75, 1.0)
"""Shares of what the best walk is worth above what was asked for, by the table; exact search follows those within one
until it finds any: the fewer it follows, the quicker it is."""

WALKS_A_NODE = 2
"""Walks that end at one node, of those told of at once."""


COARSE = 4
"""Steps of the clock in one of quick pricing's, until that finds no more: 103 nodes then take a third of the time."""

LARGE = 30
"""From so many nodes on, days are looked through side by side; for fewer, handing them over is most of the work.
Of 78 jobs by two crews a bound then takes 40 s by the clock for 46, the same to the last digit."""


class Rooms(threading.local):
    """Room for labels, one for each thread that asks."""

    def __init__(self) -> None:
        """Give the asking thread its room."""
        self.room = LabelRoom(MOST_LABELS)


@dataclass(frozen=True)
class Walk:
    """A walk of a group of crew-days: its tasks in order (with repeats), its value, and what it costs at the least."""

    tasks: tuple[int, ...]
    cost: int
    """Seconds away, or metres where the problem puts distance first."""
    value: float
    visits: tuple[int, ...] = ()
    """The visit of each task, of the group's first route."""

    def order(self) -> Order:
        """Return the stops of the walk; empty where it comes back to a task and so is no order."""
        return order_of(self.visits, self.tasks) if len(set(self.tasks)) == len(self.tasks) else ()


def order_of(visits: Iterable[int], tasks: Iterable[int]) -> Order:
    """Return the stops that do these tasks in turn, each in its visit; those of one visit in a row are one stop."""
    stops: list[Planned] = []
    for visit, task in zip(visits, tasks, strict=True):
        if stops and stops[-1].visit == visit:
            stops[-1] = Planned(visit, tuple(sorted({*stops[-1].tasks, task})))
        else:
            stops.append(Planned(visit, (task,)))
    return tuple(stops)


type Tried = Callable[[], tuple[float, list[Walk]]]
"""Looks through one day; gives what no walk is worth more than, and some walks."""


@dataclass(frozen=True, eq=False)
class _Limits:
    """When walks may finish."""

    begins: NDArray[np.int64]
    """Shape (nodes,): the earliest finish of a node that comes first."""
    early: NDArray[np.int64]
    """Shape (nodes,): the earliest finish of a node that comes later."""
    longest: int
    """When they are home."""
    rest: int
    """Seconds of break that the walk pays for."""
    cut: int = 0
    """By how many seconds sooner than `longest` and the last window allow."""


@dataclass(frozen=True, eq=False)
class _View:
    """A day at certain values and under certain limits, as `ng_routes` has it."""

    worth: Real
    """Shape (nodes + 1, nodes + 1)."""
    nodes: Whole
    resting: int
    """What the break costs."""


def _looked_up(nodes: int) -> int:
    """Return how many neighbours the table of what may still come remembers: each doubles its size and its time."""
    return next((many for many, most in LOOKED_UP.items() if nodes <= most), 1)


class Pricer:
    """One crew-day, asked again and again with other values of the tasks."""

    def __init__(
        self, day: Day, rooms: Rooms, places: Mapping[int, int], *, more: bool, looked_up: int | None = None
    ) -> None:
        """`more` says whether walks remember more than is looked up; without a word, that is as much as is quick."""
        self.day, self.more, self._rooms = day, more, rooms
        self.words = max(1, -(-len(places) // WORD))
        """Of what a label remembers."""
        self.nodes = len(day.tasks)
        self.places = np.array([places[int(task)] for task in day.tasks], dtype=np.int64)
        self.step = step_of(day)
        self.kept = np.zeros((self.nodes, self.words), dtype=np.uint64)
        many = _looked_up(self.nodes) if looked_up is None else looked_up
        self.near = np.full((self.nodes, many), -1, dtype=np.int64)
        reach = np.where(day.seconds >= 0, day.seconds, np.iinfo(np.int64).max)
        for node in range(self.nodes):
            nearest = np.argsort(np.minimum(reach[node], reach[:, node]), kind="stable")
            tasks = list(dict.fromkeys(int(self.places[other]) for other in nearest))
            tasks = [task for task in tasks if task != self.places[node]][:REMEMBERED_FOR_MORE]
            few = tasks[: self.near.shape[1]]
            self.near[node, : len(few)] = few
            for task in (*(tasks if more else few), int(self.places[node])):
                self.kept[node, task // WORD] |= np.uint64(1 << (task % WORD))
        wait_for(BOUNDS)
        self.moves = moves(day.seconds, self.places, self.near) if self.step else np.zeros((0, 0, 0), dtype=np.int64)

    def best(
        self, values: Mapping[int, float], weight: float, least: float, most: int, *, coarse: int = 0
    ) -> tuple[float, list[Walk]]:
        """Return what no walk is worth more than (at the least `least`), and some of the walks worth more than `least`.

        A walk's value is the sum of its tasks' `values` less `weight` times what it costs. Where `coarse`, so many
        steps of the clock are looked at as one; the first answer is then infinite, and walks may be missed.
        """
        return best_of_all([self], values, weight, [least], most, coarse=coarse)[0]

    def asked(self, values: Mapping[int, float], weight: float, least: float, most: int, *, coarse: int) -> list[Tried]:
        """Return what is to be looked through in any order or side by side: each kind of day."""
        if not self.nodes:
            return []
        gains = np.array([values.get(int(task), 0.0) for task in self.day.tasks])
        return [partial(self._tried, gains, weight, same, least, most, coarse) for same in self._days(self.day)]

    def _days(self, day: Day) -> list[list[_Limits]]:
        """Return the kinds of day by where the break is; each day is of one kind, bounded by all limits of that kind.

        A break before the first work takes the least light, and part of it may be had while the first window is still
        shut; one after it leaves only the last stop and the way home sure to come later. Where crews may wait, it may
        fall into a wait: then the clock without a break, and the seconds since the first start with it, each bound the
        day. Without a break the day is short, however late it begins.
        """
        rest, any_time = day.rest, np.zeros_like(day.early)
        if not rest:
            return [[_Limits(day.begins, day.early, day.longest, 0)]]
        first = np.maximum(day.out + rest, day.early)
        kinds = [[_Limits(first, day.early, day.longest, rest)]]
        if day.waits:
            clock = _Limits(day.begins, day.early, day.longest, rest)
            kinds.append([clock, _Limits(day.begins, any_time, day.longest, rest, rest)])
        elif day.cuts:
            kinds.append([_Limits(day.begins, day.early, day.longest, rest, rest)])
        kinds.append([_Limits(day.out, any_time, min(day.longest, day.rest_after), 0)])
        return kinds

    def _tried(
        self, gains: NDArray[np.float64], weight: float, same: Sequence[_Limits], least: float, most: int, coarse: int
    ) -> tuple[float, list[Walk]]:
        """Return what no walk of a kind of day is worth more than, and some walks worth more than `least`.

        Every day of the kind keeps all its limits, so each bounds it, and walks are told that keep all.
        """
        views = [self._view(gains, weight, limits) for limits in same]
        if any(view.nodes[:, LATE].max() < 0 for view in views):
            return least, []
        tables = [(np.zeros((self.nodes, 0, 1)), math.inf) for _ in views]
        if not coarse and self.step:
            tables = [self._bounded(view.worth, view.nodes) for view in views]
        bound, walks = max(least, min(top for _, top in tables)), list[Walk]()
        if bound <= least:
            return least, []
        for view, (to_come, top) in zip(views, tables, strict=True):
            if not coarse and top > bound:
                continue  # limits by which the table promises more seldom bound the day, and have the most walks
            others = [other.nodes for other in views if other is not view]
            best, some = self._looked_through(view, to_come, top, least, most, others, coarse=coarse)
            bound = min(bound, max(best, least))
            walks += some
        return bound, walks

    def _view(self, gains: NDArray[np.float64], weight: float, limits: _Limits) -> _View:
        """Return the day at these values and under these limits."""
        day, base = self.day, self.nodes
        last = np.minimum(day.late, limits.longest - day.home) - limits.cut
        resting = day.rest_cost if limits.rest else 0
        worth = np.zeros((base + 1, base + 1))
        worth[:base, :base], worth[base, :base] = gains[None, :] - weight * day.costs, gains - weight * day.out_costs
        worth[:base, base] = -weight * (day.home_costs + resting).astype(np.float64)
        nodes = np.empty((base, 5), dtype=np.int64)
        nodes[:, EARLY], nodes[:, LATE], nodes[:, PLACE] = limits.early, np.minimum(day.late, last.max()), self.places
        nodes[:, BEGINS], nodes[:, LAST] = limits.begins, last
        return _View(worth, nodes, resting)

    def _looked_through(
        self, view: _View, to_come: Real, top: float, least: float, most: int, others: Sequence[Whole], *, coarse: int
    ) -> tuple[float, list[Walk]]:
        """Return what no walk is worth more than, at most `top`, and some that keep the `others`' limits too."""
        labels, value, bits = self._rooms.room.shaped(LINKED, 1, self.words)
        ends, worths = np.empty(MOST_FOUND, dtype=np.int64), np.empty(MOST_FOUND)
        # Where the table knows as much as the walks, few lead to what it promises; its clock is cut to steps, so that
        # there may be none.
        for share in (1.0,) if self.more or math.isinf(top) else NEAR_TOP:
            sought = least if share == 1 else top - share * (top - least)
            found, fits = ng_routes(
                self.day.seconds, view.worth, view.nodes, self.kept, self.near, to_come, self.step * max(1, coarse),
                sought, not coarse, labels, value, bits[0], ends, worths,
            )  # fmt: skip
            if not coarse and fits and found < MOST_FOUND:
                top = min(top, max(sought, float(worths[:found].max(initial=-math.inf))))
            if found or not fits:
                break
        return top, self._told(labels, ends[:found], worths[:found], most, view.resting, others)

    def _bounded(self, worth: Real, nodes: Whole) -> tuple[Real, float]:
        """Return the table of what may still come, and what no walk is worth more than by it."""
        base, begins = self.nodes, nodes[:, BEGINS]
        to_come = completion_bounds(
            self.day.seconds, np.ascontiguousarray(worth[:base, :base]), nodes[:, EARLY].copy(), nodes[:, LATE].copy(),
            nodes[:, LAST].copy(), worth[:base, base].copy(), self.moves, self.step,
        )  # fmt: skip
        begun = np.flatnonzero(begins <= nodes[:, LATE])
        starts = worth[base, begun] + to_come[begun, begins[begun] // self.step, 0]
        return to_come, float(starts.max(initial=-math.inf))

    def _told(
        self, labels: Whole, ends: Whole, worths: Real, most: int, resting: int, others: Sequence[Whole]
    ) -> list[Walk]:
        """Return the best of the walks found that keep the others' limits, a few for each node that they end at."""
        walks = []
        told: dict[int, int] = {}
        for end in np.argsort(-worths, kind="stable")[:MOST_CHECKED]:
            node = int(labels[NODE, ends[end]])
            if told.get(node, 0) < WALKS_A_NODE:
                walked = nodes_of(labels, int(ends[end]))
                if not all(self._keeps(walked, limits) for limits in others):
                    continue
                told[node] = told.get(node, 0) + 1
                walks.append(self._walk(walked, float(worths[end]), resting))
                if len(walks) == most:
                    break
        return walks

    def _keeps(self, walked: Sequence[int], limits: Whole) -> bool:
        """Return whether a walk through these nodes keeps other limits, shape (nodes, columns)."""
        finish, here = int(limits[walked[0], BEGINS]), walked[0]
        for there in walked[1:]:
            if finish > limits[here, LATE]:
                return False
            finish, here = max(finish + int(self.day.seconds[here, there]), int(limits[there, EARLY])), there
        return finish <= int(min(limits[here, LATE], limits[here, LAST]))

    def _walk(self, nodes: list[int], value: float, resting: int) -> Walk:
        """Return the walk through these nodes."""
        day = self.day
        cost = int(day.out_costs[nodes[0]] + day.home_costs[nodes[-1]]) + resting
        cost += int(day.costs[nodes[:-1], nodes[1:]].sum())
        return Walk(tuple(day.tasks[nodes].tolist()), cost, value, tuple(day.visits[n] for n in nodes))


def pricers(days: Sequence[Day], *, more: bool = False, looked_up: int | None = None) -> list[Pricer]:
    """Return one pricer a day, whose walks remember `more` if so; they share the room that each thread has."""
    tasks = sorted({int(task) for day in days for task in day.tasks})
    places = {task: place for place, task in enumerate(tasks)}
    rooms = Rooms()
    return [Pricer(day, rooms, places, more=more, looked_up=looked_up) for day in days]


def best_of_all(
    priced: Sequence[Pricer],
    values: Mapping[int, float],
    weight: float,
    least: Sequence[float],
    most: int,
    *,
    coarse: int = 0,
) -> list[tuple[float, list[Walk]]]:
    """Return for each pricer what `Pricer.best` does, with a `least` each; large days are looked through together."""
    asked = [
        pricer.asked(values, weight, floor, most, coarse=coarse) for pricer, floor in zip(priced, least, strict=True)
    ]
    calls = [call for kinds in asked for call in kinds]
    large = max((pricer.nodes for pricer in priced), default=0) >= LARGE
    answers = iter(side_by_side(calls) if large else [call() for call in calls])
    tried = [[next(answers) for _ in kinds] for kinds in asked]
    return [_of_all_kinds(kinds, floor, most) for kinds, floor in zip(tried, least, strict=True)]


def _of_all_kinds(tried: list[tuple[float, list[Walk]]], least: float, most: int) -> tuple[float, list[Walk]]:
    """Return what bounds every kind of day, and the best walks."""
    if not tried:
        return least, []
    walks = sorted((walk for _, some in tried for walk in some), key=lambda walk: (-walk.value, walk.tasks))
    return max(bound for bound, _ in tried), walks[:most]
