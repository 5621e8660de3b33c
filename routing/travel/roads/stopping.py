"""Where a vehicle stops for a place: a road where one may stop, from which the place can be walked to.

The engine's own filters know classes of roads, slip roads, bridges and tunnels, but no roundabouts, dual carriageways
or private ways, and nothing of what a walk would cross; so the point is chosen here, and the engine is given it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from routing.farm.models import Drives, Place
from routing.travel.roads.ground import Around, Ground, Ints, Pieces
from routing.travel.roads.joined import NOT_DRIVEN
from routing.travel.roads.may_stop import Why
from routing.travel.roads.on_foot import OnFoot, Walk
from routing.travel.roads.plane import Flags, Flat, Floats, lengths, nearest
from routing.travel.roads.snap import NOWHERE, PassedOver, Snap, Wanted, road_called

CLEAR_METRES = 10.0
"""A vehicle keeps so far from roads that are none to stop on, and from railways.

Source: as far as from a junction by rule 243 of the Highway Code for Great Britain, from memory, not checked.
"""

_KEPT_FROM = (Why.NO_STOPPING, Why.SLIP_ROAD, Why.BRIDGE, Why.TUNNEL, Why.ROUNDABOUT)

_APART_METRES = 20.0
"""Points of a road that are tried, where its nearest will not do."""

_FIRST_LOOK, _LAST_LOOK = 250.0, 64_000.0
_MOST_PASSED_OVER = 6
_MOST_TRIES = 5
"""Roads that are tried for one place, before it is the nearest although no way leads there and back."""
_LONGEST_SOUGHT = 5_000.0
"""Metres to hives beyond which no way round is sought: nobody carries a barrow as far."""


def stopping_places(
    ground: Ground, drives: Drives, wanted: Sequence[Wanted], joined: Callable[[Sequence[Place]], Sequence[bool]]
) -> tuple[Snap, ...]:
    """Return where a vehicle stops for each place, the base first; the shortest walk decides.

    The base's road is one of the largest group of joined roads, and the others are joined to it, where such are near
    enough; `joined` has the last word on points of roads, since it knows of forbidden turns. Where a vehicle may stop
    nowhere, the snap has no road and says how far the nearest is and what lies between.
    """
    group = 0
    found: list[_Found] = []
    for one in wanted:
        found.append(_one(ground, drives, one, group))
        group = found[0].group
    latest: list[tuple[int, _Found]] = list(enumerate(found))
    left: dict[int, frozenset[int]] = {}
    for _ in range(_MOST_TRIES):
        asked = [(number, each) for number, each in latest if each.snap.road is not None]
        good = joined([each.snap.road for _, each in asked if each.snap.road is not None])
        if not left and not any(good):
            break  # so small a map has no road that many others join
        latest = []
        for (number, each), joins in zip(asked, good, strict=True):
            if joins:
                found[number] = each
            else:
                left[number] = left.get(number, frozenset()) | {each.way}
                latest.append((number, _one(ground, drives, wanted[number], group, left[number])))
    return tuple(
        each.snap if one.hives is None else _with_walk(ground, one.place, one.hives, each.snap)
        for one, each in zip(wanted, found, strict=True)
    )


@dataclass(frozen=True)
class _Found:
    """A stopping place with its way and its group of joined roads."""

    snap: Snap
    way: int
    group: int


def _one(ground: Ground, drives: Drives, wanted: Wanted, group: int, left: frozenset[int] = frozenset()) -> _Found:
    """Return where a vehicle stops: in the group of joined roads asked for where it can, on no way of `left`."""
    for of in (group, None):
        search = _Search(ground, drives, wanted, of, left)
        found = search.best()
        if found is not None:
            return found
    return _Found(search.too_far(), -1, group)


def _with_walk(ground: Ground, own_place: Place, hives: Place, snap: Snap) -> Snap:
    """Return the snap of an own place with the walk from there to the hives, straight where no other is known."""
    flat = Flat(hives)
    target = flat.points(np.array([own_place.latitude]), np.array([own_place.longitude]))
    straight = float(lengths(target)[0])
    if straight > _LONGEST_SOUGHT:
        return replace(snap, walk_metres=straight, by_ways=False, barred="")
    on_foot = OnFoot(ground, ground.around(hives, 2 * straight + _FIRST_LOOK))
    walk = on_foot.shortest(target) or Walk(straight, 0, by_ways=False)
    return replace(snap, walk_metres=walk.metres, by_ways=walk.by_ways, barred=on_foot.barred_by(target[0]))


@dataclass(frozen=True, eq=False)
class _Points:
    """Points on roads where the vehicle may stop, in metres east and north of the place.

    `pieces` says on which piece of a way each is, by the place of its beginning in the list of all points.
    """

    at: Floats
    pieces: Ints


class _Search:
    """The search for one stopping place, farther and farther around."""

    def __init__(self, ground: Ground, drives: Drives, wanted: Wanted, group: int | None, left: frozenset[int]) -> None:
        """Take the group of joined roads to stop on, None for any, and the ways to leave aside."""
        self._ground, self._wanted, self._drives = ground, wanted, drives
        self._whys = (Why.NOTHING, Why.PRIVATE) if wanted.own_place else (Why.NOTHING,)
        self._joined = ground.joined[drives]
        self._group = group
        self._left = left

    def _to_stop_on(self, around: Around) -> Pieces:
        """Return the pieces of road that one may stop on."""
        of = self._joined[around.ways.points]
        driven = of != NOT_DRIVEN if self._group is None else of == self._group
        open_ = driven & np.isin(self._ground.whys[around.ways.lines], self._whys)
        return around.ways.some(open_ & ~np.isin(around.ways.lines, list(self._left)))

    def best(self) -> _Found | None:
        """Return the stopping place of the shortest walk, None where there is none near enough."""
        look = 0.0
        while look < self._wanted.furthest:
            look = min(2 * look or _FIRST_LOOK, self._wanted.furthest)
            around = self._ground.around(self._wanted.place, look)
            nearest_of = self._points(around, look)
            if not len(nearest_of.at):
                continue
            points = nearest_of if self._will_do(around, nearest_of) else self._clear_points(around, look)
            walk = OnFoot(self._ground, around).shortest(points.at) if len(points.at) else None
            if walk is not None and walk.metres <= look:
                return self._told(around, points, walk)
        if look and (self._wanted.own_walk or self._wanted.own_place) and len(nearest_of.at):
            points = points if len(points.at) else nearest_of
            away = lengths(points.at)
            return self._told(around, points, Walk(float(away.min()), int(away.argmin()), by_ways=False))
        return None

    def too_far(self) -> Snap:
        """Return how far the nearest road to stop on is, and what lies between; nothing is known beyond 64 km."""
        look = max(_FIRST_LOOK, self._wanted.furthest)
        while True:
            around = self._ground.around(self._wanted.place, look)
            points = self._points(around, look)
            if len(points.at):
                away = lengths(points.at)
                snap = self._told(around, points, Walk(float(away.min()), int(away.argmin()), by_ways=False)).snap
                near = snap.metres <= self._wanted.furthest  # else it is too far whatever lies between
                return replace(snap, road=None, barred=snap.barred if near else "")
            if look >= _LAST_LOOK:
                return NOWHERE
            look *= 4

    def _points(self, around: Around, look: float) -> _Points:
        """Return the nearest point of each piece of road to stop on."""
        ways = self._to_stop_on(around)
        at = nearest(np.zeros(2), ways.starts, ways.ends)
        near = lengths(at) <= look
        return _Points(at[near], ways.points[near])

    def _clear_points(self, around: Around, look: float) -> _Points:
        """Return many points of the roads to stop on, none of them close to what is none to stop at."""
        ways, first = self._to_stop_on(around), self._points(around, look)
        at, of = [first.at], [first.pieces]
        for start, end, piece in zip(ways.starts, ways.ends, ways.points, strict=True):
            parts = max(1, int(np.ceil(np.hypot(*(end - start)) / _APART_METRES)))
            at.append(start + (end - start) * (np.arange(parts + 1) / parts)[:, None])
            of.append(np.full(parts + 1, piece))
        points = _Points(np.concatenate(at), np.concatenate(of))
        near = lengths(points.at) <= look
        near[near] &= self._is_clear(around, points.at[near])
        return _Points(points.at[near], points.pieces[near])

    def _will_do(self, around: Around, points: _Points) -> bool:
        """Return whether the nearest of all points can be stopped at and walked straight from."""
        first = points.at[lengths(points.at).argmin()]
        return bool(self._is_clear(around, first[None])[0]) and not OnFoot(self._ground, around).barred_by(first)

    def _is_clear(self, around: Around, points: Floats) -> Flags:
        """Return which points are far enough from railways and from roads that are none to stop on."""
        bars = around.bars.some(self._ground.bar_level[around.bars.lines])
        kept = np.isin(self._ground.whys[around.ways.lines], _KEPT_FROM)
        kept &= np.array([self._ground.kinds[way] != "" for way in around.ways.lines.tolist()], dtype=bool)
        kept_from = around.ways.some(kept)
        starts, ends = np.concatenate([bars.starts, kept_from.starts]), np.concatenate([bars.ends, kept_from.ends])
        near = [(lengths(nearest(point, starts, ends) - point) < CLEAR_METRES).any() for point in points]
        return ~np.array(near, dtype=bool)

    def _told(self, around: Around, points: _Points, walk: Walk) -> _Found:
        """Return the stopping place with all that is told of it."""
        point, piece = points.at[walk.target], int(points.pieces[walk.target])
        way = self._ground.ways.line_of(piece)
        snap = Snap(
            metres=walk.metres,
            walk_metres=walk.metres,
            road=around.flat.place(point),
            name=self._ground.names[way],
            kind=self._ground.kinds[way],
            by_ways=walk.by_ways,
            barred=OnFoot(self._ground, around).barred_by(point),
            passed_over=self._passed_over(around, walk.metres, way),
        )
        return _Found(snap, way, int(self._joined[piece]))

    def _passed_over(self, around: Around, metres: float, chosen: int) -> tuple[PassedOver, ...]:
        """Return the roads that lie nearer than the walk is long, the nearest first, each once."""
        ground, on_foot = self._ground, OnFoot(self._ground, around)
        at = nearest(np.zeros(2), around.ways.starts, around.ways.ends)
        away = lengths(at)
        found: dict[tuple[str, str], PassedOver] = {}
        seen: set[int] = set()
        for piece in np.argsort(away, kind="stable").tolist():
            way = int(around.ways.lines[piece])
            if away[piece] >= metres or len(found) == _MOST_PASSED_OVER:
                break
            if way in seen or not ground.kinds[way]:
                continue
            seen.add(way)
            barred = on_foot.barred_by(at[piece])
            why = self._why(way, int(around.ways.points[piece])) or (f"beyond {barred}" if barred else "")
            if not why and way != chosen:
                why = "too near a railway or a road that is none to stop on"
            road = road_called(ground.names[way], ground.kinds[way])
            if why:
                found.setdefault((road, why), PassedOver(road, float(away[piece]), why))
        return tuple(found.values())

    def _why(self, way: int, piece: int) -> str:
        """Return why a vehicle does not stop on a piece of a way, empty where its tags are no reason."""
        why = Why(int(self._ground.whys[way]))
        if why not in self._whys:
            return why.words
        of = int(self._joined[piece])
        if of == NOT_DRIVEN:
            return f"not for a {self._drives}"
        return "" if self._group in {None, of} and way not in self._left else "no way there and back"
