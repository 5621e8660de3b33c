"""Walks with a barrow: straight over open ground, or by the map's ways where something bars the straight line.

No walk crosses a motorway, railway, river or lake but by a way over or under it.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from routing.travel import roads
from routing.travel.roads.ground import Around, Ground, Ints, Pieces
from routing.travel.roads.plane import Flags, Floats, crossings, lengths

_PIECE_METRES = 20.0
"""Ways are joined and left at most so far apart."""

_LINKS = 20
"""Points of the ways from which one goes on to a target over open ground: more are not looked at for one target."""

_AT_ONCE = 100
"""Straight lines that are looked at together, the shortest first."""


@dataclass(frozen=True, eq=False)
class Walk:
    """A way on foot to one of the points that were asked for."""

    metres: float
    target: int
    by_ways: bool
    """Along the map's ways for a part, because the straight line is barred."""


class OnFoot:
    """Walks over the ground around one place, from its middle."""

    def __init__(self, ground: Ground, around: Around) -> None:
        """Take the ground and what of it lies around the place."""
        self._ground = ground
        self._around = around
        self._network: _Network | None = None

    def shortest(self, targets: Floats) -> Walk | None:
        """Return the shortest walk from the middle to any of the points, shape (n, 2); None where none is known."""
        straight = self._straight(targets)
        if straight is not None and straight.metres <= lengths(targets).min():
            return straight  # nothing can be shorter
        most = np.inf if straight is None else straight.metres
        return self._by_ways(targets, most) or straight

    def barred_by(self, target: Floats) -> str:
        """Return the first thing that bars the straight line to a point, empty where nothing does."""
        bars = self._around.bars
        crossed = np.flatnonzero(crossings(np.zeros((1, 2)), target[None], bars.starts, bars.ends)[0])
        if not len(crossed):
            return ""
        return self._ground.bar_names[int(bars.lines[_first(target, bars, crossed)])]

    def _straight(self, targets: Floats) -> Walk | None:
        away = lengths(targets)
        order = np.argsort(away, kind="stable")
        for first in range(0, len(order), _AT_ONCE):
            some = order[first : first + _AT_ONCE]
            open_ = some[~self._barred(np.zeros((len(some), 2)), targets[some])]
            if len(open_):
                return Walk(float(away[open_[0]]), int(open_[0]), by_ways=False)
        return None

    def _by_ways(self, targets: Floats, most: float) -> Walk | None:
        """Return the shortest walk by ways, where one is shorter than `most` metres."""
        if self._network is None:
            self._network = _network(self._ground, self._around)
        points, metres = self._reached(self._network, most)
        best: Walk | None = None
        if not len(points):
            return None
        least = _least(points, metres, targets)
        for target in np.argsort(least, kind="stable").tolist():
            if least[target] >= most:
                break
            totals = metres + lengths(points - targets[target])
            some = np.argsort(totals, kind="stable")[:_LINKS]
            open_ = some[~self._barred(points[some], np.broadcast_to(targets[target], (len(some), 2)))]
            if len(open_) and totals[open_[0]] < most:
                most = float(totals[open_[0]])
                best = Walk(most, target, by_ways=True)
        return best

    def _reached(self, network: _Network, most: float) -> tuple[Floats, Floats]:
        """Return the points of the ways that can be walked to from the middle, and how far that is."""
        away = lengths(network.points)
        near = np.flatnonzero(away < most)
        near = near[~self._barred(np.zeros((len(near), 2)), network.points[near])]
        along = zip(*network.joined.T.tolist(), network.metres.tolist(), strict=True)
        found = roads.graphs.distances([*along, *((-1, node, away[node]) for node in near.tolist())], -1)
        if not found:
            return np.zeros((0, 2)), np.zeros(0)
        found.pop(-1)
        nodes = np.fromiter(found, dtype=np.int64, count=len(found))
        return network.points[nodes], np.fromiter(found.values(), dtype=np.float64, count=len(found))

    def _barred(self, starts: Floats, ends: Floats) -> Flags:
        bars = self._around.bars
        return np.asarray(crossings(starts, ends, bars.starts, bars.ends).any(axis=1))


@dataclass(frozen=True, eq=False)
class _Network:
    """Points along the ways that can be walked, and which of them are joined."""

    points: Floats
    joined: Ints
    metres: Floats


def _network(ground: Ground, around: Around) -> _Network:
    """Return the ways that can be walked, cut into short pieces."""
    pieces = around.ways.some(_usable(ground, around))
    named, ends = np.unique(pieces.nodes, return_inverse=True)
    points = np.zeros((len(named), 2))
    ends = ends.reshape(-1, 2)
    points[ends[:, 0]], points[ends[:, 1]] = pieces.starts, pieces.ends
    further: list[Floats] = []
    joined: list[tuple[int, int]] = []
    metres: list[float] = []
    number = len(named)
    for start, end, (first, last), length in zip(
        pieces.starts, pieces.ends, ends.tolist(), lengths(pieces.ends - pieces.starts).tolist(), strict=True
    ):
        parts = max(1, int(np.ceil(length / _PIECE_METRES)))
        chain = [first, *range(number, number + parts - 1), last]
        further.append(start + (end - start) * (np.arange(1, parts) / parts)[:, None])
        joined += pairwise(chain)
        metres += [length / parts] * parts
        number += parts - 1
    return _Network(np.concatenate([points, *further]), np.array(joined, np.int64).reshape(-1, 2), np.array(metres))


def _usable(ground: Ground, around: Around) -> Flags:
    """Return which pieces of ways can be walked: over or under what they meet, or across it on the level."""
    ways, bars = around.ways, around.bars.some(~ground.bar_raised[around.bars.lines])
    over = ground.over[ways.lines]
    usable = ground.walkable[ways.lines]
    asked = np.flatnonzero(usable & ~over)
    crossed = crossings(ways.starts[asked], ways.ends[asked], bars.starts, bars.ends)
    for piece, bar in zip(*np.nonzero(crossed), strict=True):
        shared = np.intersect1d(ways.nodes[asked[piece]], bars.nodes[bar]).size > 0
        if not (shared and ground.bar_level[bars.lines[bar]]):
            usable[asked[piece]] = False
    return np.asarray(usable)


def _least(points: Floats, metres: Floats, targets: Floats) -> Floats:
    """Return how long the walk to each target is at least: by way of any of the points, were no line barred."""
    found = np.zeros(len(targets))
    for first in range(0, len(targets), _AT_ONCE):
        some = targets[first : first + _AT_ONCE]
        off = some[:, None] - points[None]
        found[first : first + _AT_ONCE] = (metres + np.hypot(off[..., 0], off[..., 1])).min(axis=1)
    return found


def _first(target: Floats, bars: Pieces, crossed: Ints) -> int:
    """Return which of the crossed bars comes first on the straight line from the middle."""
    starts, along = bars.starts[crossed], bars.ends[crossed] - bars.starts[crossed]
    across = along[:, 1] * target[0] - along[:, 0] * target[1]
    share = (along[:, 1] * starts[:, 0] - along[:, 0] * starts[:, 1]) / np.where(across == 0, np.inf, across)
    return int(crossed[np.argmin(share)])
