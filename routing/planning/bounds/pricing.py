"""The most valuable walk of one crew-day: a relaxation of its possible orders.

A walk may come back to a task it has forgotten; it remembers those of a few neighbours of where it stands, so short
loops are out. Waits cost nothing. Every possible order is such a walk with at most its own cost, so what no walk beats,
no order beats.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Mapping, Sequence
from functools import partial

import numpy as np
from numpy.typing import NDArray

from routing.planning.bounds.cuts import Cut
from routing.planning.bounds.day_views import Kind, View, followers, kinds_of, view_of
from routing.planning.bounds.ng_labels import (
    COMPARED,
    EXACT,
    completion_bounds,
    completion_bounds_unrested,
    moves,
    ng_routes,
)
from routing.planning.bounds.pricing_work import PricingWork
from routing.planning.bounds.walk_days import Day, step_of
from routing.planning.bounds.walks import Walk
from routing.planning.labelling.columns import BEGINS, EARLY, LAST, LATE, LINKED, NODE, Real, Whole
from routing.planning.labelling.label_room import LabelRoom, nodes_of
from routing.planning.labelling.memory import WORD
from routing.planning.running.compiled_ahead import BOUNDS, wait_for
from routing.planning.running.side_by_side import side_by_side

REMEMBERED_FOR_MORE = 8
"""Neighbours that a walk remembers at each node where a bound is to come nearer; else as many as are looked up."""


LOOKED_UP = {4: 160, 3: 250, 2: 400}
"""Neighbours that the table of what may still come remembers, by the most nodes."""

MOST_LABELS = 1_000_000
MOST_FOUND = 20_000

NEAR_TOP = (0.15, 0.3, 0.5, 0.75, 1.0)
"""Shares of what the best walk is worth above what was asked for, by the table; exact search follows those within one
until it finds any: the fewer it follows, the quicker it is."""

WALKS_A_NODE = 2
"""Walks that end at one node, of those told of at once."""


NEARBY = -1
"""Exact pricing among the nearest nodes alone, which takes a tenth of the time that all take of 400."""

COARSE = 4
"""Steps of the clock in one of quick pricing's, until that finds no more: 103 nodes then take a third of the time."""

TRIED_QUICKLY = 40
"""Nodes that quick pricing goes on to from each, the nearest."""

LOOKED_UP_A_COMPARED = 10
"""Of the numbers that are looked at to make a table, so many take as long as to compare one label."""

LARGE = 30
"""From so many nodes on, days are looked through side by side; for fewer, handing them over is most of the work.
Of 78 jobs by two crews a bound then takes 40 s by the clock for 46, the same to the last digit."""


class Rooms(threading.local):
    """Room for labels, one for each thread that asks."""

    def __init__(self) -> None:
        """Give the asking thread its room."""
        self.room = LabelRoom(MOST_LABELS)


type Tried = Callable[[int], tuple[float, list[Walk], int]]
"""Looks through one day, comparing at most so many labels; gives what no walk is worth more than, some walks, and how
many labels were compared."""


def _looked_up(nodes: int) -> int:
    """Return how many neighbours the table of what may still come remembers: each doubles its size and its time."""
    return next((many for many, most in LOOKED_UP.items() if nodes <= most), 1)


class Pricer:
    """One crew-day, asked again and again with other values of the tasks."""

    def __init__(
        self,
        day: Day,
        rooms: Rooms,
        places: Mapping[int, int],
        *,
        more: bool,
        looked_up: int | None = None,
        work: PricingWork | None = None,
    ) -> None:
        """`more` says whether walks remember more than is looked up; without a word, that is as much as is quick."""
        self.day, self.more, self._rooms, self.work = day, more, rooms, work or PricingWork()
        self.words = max(1, -(-len(places) // WORD))
        """Of what a label remembers."""
        self.nodes = len(day.tasks)
        self.places = np.array([places[int(task)] for task in day.tasks], dtype=np.int64)
        self._place_of = dict(zip(day.tasks.tolist(), self.places.tolist(), strict=True))
        self.step = step_of(day)
        self.kept = np.zeros((self.nodes, self.words + 1), dtype=np.uint64)
        self.cuts = np.zeros(self.nodes, dtype=np.uint64)
        self.dear = np.zeros(WORD)
        """What the cuts of `cut` cost."""
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
        self.follow = followers(day.seconds)
        """Shape (nodes, nodes): what may follow each, the nearest first, then -1."""
        self._follow_quickly = np.ascontiguousarray(self.follow[:, :TRIED_QUICKLY])
        self.moves = moves(day.seconds, self.places, self.near) if self.step else np.zeros((0, 0, 0), dtype=np.int16)

    def cut(self, cuts: Sequence[Cut]) -> None:
        """Count these cuts from now on, at no cost yet."""
        self.cuts[:], self.kept[:, self.words], self.dear[:] = 0, 0, 0.0
        for bit, cut in enumerate(cuts):
            for node, task in enumerate(self.day.tasks.tolist()):
                self.cuts[node] |= np.uint64((task in cut.tasks) << bit)
                self.kept[node, self.words] |= np.uint64((task in cut.remembered) << bit)

    def remember(self, walked: Sequence[int]) -> None:
        """Remember, from now on, each of these tasks in turn at all between it and where it comes again."""
        last: dict[int, int] = {}
        for at, task in enumerate(walked):
            if task in last:
                between = np.isin(self.day.tasks, walked[last[task] + 1 : at])
                self.kept[between, self._place_of[task] // WORD] |= np.uint64(1 << self._place_of[task] % WORD)
            last[task] = at

    def allows(self, walked: Sequence[int]) -> bool:
        """Return whether these tasks in turn are a walk: none comes again while all in between remember it."""
        last: dict[int, int] = {}
        for at, task in enumerate(walked):
            if task in last:
                between = np.isin(self.day.tasks, walked[last[task] + 1 : at])
                place = self._place_of[task]
                if (self.kept[between, place // WORD] >> np.uint64(place % WORD) & np.uint64(1)).all():
                    return False
            last[task] = at
        return True

    def best(
        self, values: Mapping[int, float], weight: float, least: float, most: int, *, coarse: int = 0
    ) -> tuple[float, list[Walk]]:
        """Return what no walk is worth more than (at the least `least`), and some of the walks worth more than `least`.

        A walk's value is the sum of its tasks' `values` less `weight` times what it costs, and less what cuts cost.
        Where `coarse`, so many steps of the clock are looked at as one, or, where NEARBY, only the nearest nodes; the
        first answer is then infinite, and walks may be missed.
        """
        return best_of_all([self], values, weight, [least], most, coarse=coarse)[0]

    def asked(self, values: Mapping[int, float], weight: float, least: float, most: int, *, coarse: int) -> list[Tried]:
        """Return what is to be looked through in any order or side by side: each kind of day."""
        if not self.nodes:
            return []
        gains = np.array([values.get(int(task), 0.0) for task in self.day.tasks])
        return [partial(self._tried, gains, weight, kind, least, most, coarse) for kind in kinds_of(self.day)]

    def _tried(
        self, gains: NDArray[np.float64], weight: float, kind: Kind, least: float, most: int, coarse: int, compared: int
    ) -> tuple[float, list[Walk], int]:
        """Return what no walk of a kind of day is worth more than, and some walks worth more than `least`.

        At most so many labels are `compared`; the last of the answer is how many were.
        """
        follow = self._follow_quickly if coarse else self.follow
        view = view_of(self.day, self.places, gains, weight, kind, follow)
        if view.nodes[:, LATE].max() < 0:
            return least, [], 0
        to_come, top, looked_up = np.zeros((len(view.nodes), 0, 1)), math.inf, 0
        if coarse <= 0 and self.step:
            to_come, top = self._bounded(view)
            looked_up = to_come.size * follow.shape[1] // LOOKED_UP_A_COMPARED
        if top <= least:
            return least, [], looked_up
        asked = np.array([self.step * max(1, coarse), view.rest, coarse <= 0, compared, 0], dtype=np.int64)
        best, walks = self._looked_through(view, to_come, top, least, most, asked)
        return (math.inf if coarse else max(least, best)), walks, looked_up + int(asked[COMPARED])

    def _looked_through(
        self, view: View, to_come: Real, top: float, least: float, most: int, asked: Whole
    ) -> tuple[float, list[Walk]]:
        """Return what no walk is worth more than, at most `top`, and some that are worth more than `least`."""
        labels, value, bits = self._rooms.room.shaped(LINKED, 1, self.words + 1)
        ends, worths = np.empty(MOST_FOUND, dtype=np.int64), np.empty(MOST_FOUND)
        # Where the table knows as much as the walks, few lead to what it promises; its clock is cut to steps, so that
        # there may be none.
        for share in (1.0,) if self.more or math.isinf(top) else NEAR_TOP:
            sought = least if share == 1 else top - share * (top - least)
            found, fits = ng_routes(
                self.day.seconds, view.follow, view.worth, view.nodes, self.kept, self.cuts, self.dear, self.near,
                to_come, asked, sought, labels, value, bits[0], ends, worths,
            )  # fmt: skip
            if asked[EXACT] and fits and found < MOST_FOUND:
                top = min(top, max(sought, float(worths[:found].max(initial=-math.inf))))
            if found or not fits:
                break
        return top, self._told(labels, ends[:found], worths[:found], most, view.resting)

    def _bounded(self, view: View) -> tuple[Real, float]:
        """Return the table of what may still come, and what no walk is worth more than by it."""
        base, begins = self.nodes, view.nodes[:, BEGINS]
        inner = np.ascontiguousarray(view.worth[:base, :base])
        early, late, last = (view.nodes[:base, column].copy() for column in (EARLY, LATE, LAST))
        to_come = completion_bounds(
            self.day.seconds, view.follow, inner, early, late, last, view.worth[:base, base].copy(), self.moves,
            self.step,
        )  # fmt: skip
        if view.rest:
            unrested = completion_bounds_unrested(
                self.day.seconds, view.follow, inner, early, late, self.moves, self.step, view.rest, to_come
            )
            to_come = np.concatenate([to_come, unrested])
        begun = np.flatnonzero(begins <= view.nodes[:, LATE])
        starts = view.worth[base, begun % base] + to_come[begun, begins[begun] // self.step, 0]
        return to_come, float(starts.max(initial=-math.inf))

    def _told(self, labels: Whole, ends: Whole, worths: Real, most: int, resting: int) -> list[Walk]:
        """Return the best of the walks found, a few for each node that they end at."""
        walks = []
        told: dict[int, int] = {}
        for end in np.argsort(-worths, kind="stable"):
            node = int(labels[NODE, ends[end]])
            if told.get(node, 0) < WALKS_A_NODE:
                told[node] = told.get(node, 0) + 1
                walked = [state % self.nodes for state in nodes_of(labels, int(ends[end]))]
                walks.append(self._walk(walked, float(worths[end]), resting))
                if len(walks) == most:
                    break
        return walks

    def _walk(self, nodes: list[int], value: float, resting: int) -> Walk:
        """Return the walk through these nodes."""
        day = self.day
        cost = int(day.out_costs[nodes[0]] + day.home_costs[nodes[-1]]) + resting
        cost += int(day.costs[nodes[:-1], nodes[1:]].sum())
        return Walk(tuple(day.tasks[nodes].tolist()), cost, value, tuple(day.visits[n] for n in nodes))


def pricers(
    days: Sequence[Day], *, more: bool = False, looked_up: int | None = None, work: PricingWork | None = None
) -> list[Pricer]:
    """Return one pricer a day, whose walks remember `more` if so; they share the work, and the room each thread has.

    Beyond that work walks may be missed, and what none is worth more than is only as near as the table tells.
    """
    tasks = sorted({int(task) for day in days for task in day.tasks})
    places = {task: place for place, task in enumerate(tasks)}
    rooms = Rooms()
    work = work or PricingWork()
    return [Pricer(day, rooms, places, more=more, looked_up=looked_up, work=work) for day in days]


def work_of(priced: Sequence[Pricer]) -> PricingWork:
    """Return what pricers that were made together may still do."""
    return priced[0].work if priced else PricingWork()


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
    work = work_of(priced)
    share = work.share(sum(map(len, asked)))
    calls = [partial(call, share) for kinds in asked for call in kinds]
    large = max((pricer.nodes for pricer in priced), default=0) >= LARGE
    found = side_by_side(calls) if large else [call() for call in calls]
    work.spend(sum(compared for _, _, compared in found))
    answers = iter([(bound, walks) for bound, walks, _ in found])
    tried = [[next(answers) for _ in kinds] for kinds in asked]
    return [_of_all_kinds(kinds, floor, most) for kinds, floor in zip(tried, least, strict=True)]


def _of_all_kinds(tried: list[tuple[float, list[Walk]]], least: float, most: int) -> tuple[float, list[Walk]]:
    """Return what bounds every kind of day, and the best walks."""
    if not tried:
        return least, []
    walks = sorted((walk for _, some in tried for walk in some), key=lambda walk: (-walk.value, walk.tasks))
    return max(bound for bound, _ in tried), walks[:most]
