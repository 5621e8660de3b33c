"""What of a road map matters for stopping and walking, kept beside the tiles, and cut out around one place."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from routing.farm.models import Drives, Place, RoadRules
from routing.travel.roads.extract import TEN_MILLION, Extract
from routing.travel.roads.joined import joined
from routing.travel.roads.may_stop import bar, label, over_or_under, raised, road_words, walkable, why_not
from routing.travel.roads.plane import Flags, Flat, Floats

Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Pieces:
    """Straight pieces of lines around a place, in metres east and north of it."""

    starts: Floats
    ends: Floats
    lines: Ints
    """The line that each is a piece of."""
    nodes: Ints
    """The points at its ends by their numbers, shape (n, 2)."""
    points: Ints
    """Where each begins, by its place in the list of all points."""

    def some(self, chosen: Flags) -> Pieces:
        """Return only the chosen pieces."""
        return Pieces(
            starts=self.starts[chosen],
            ends=self.ends[chosen],
            lines=self.lines[chosen],
            nodes=self.nodes[chosen],
            points=self.points[chosen],
        )


@dataclass(frozen=True, eq=False)
class Around:
    """The pieces of ways and of bars within a distance of one place."""

    flat: Flat
    ways: Pieces
    bars: Pieces


@dataclass(frozen=True, eq=False)
class Lines:
    """Lines of points, with the box of each."""

    starts: Ints
    latitudes: NDArray[np.int32]
    longitudes: NDArray[np.int32]
    nodes: Ints

    @cached_property
    def _boxes(self) -> tuple[tuple[NDArray[np.int32], NDArray[np.int32]], ...]:
        """The least and the most latitude, and longitude, of each line."""
        first = self.starts[:-1]
        columns = (self.latitudes, self.longitudes)
        return tuple((np.minimum.reduceat(each, first), np.maximum.reduceat(each, first)) for each in columns)

    def line_of(self, point: int) -> int:
        """Return the line that a point of the list belongs to."""
        return int(np.searchsorted(self.starts, point, side="right")) - 1

    def around(self, flat: Flat, metres: float) -> Pieces:
        """Return the pieces whose box comes within a distance of the middle of a flat map."""
        first, last = self.starts[:-1], self.starts[1:] - 1
        if not len(first):
            none = np.zeros((0, 2))
            return Pieces(none, none, np.zeros(0, np.int64), np.zeros((0, 2), np.int64), np.zeros(0, np.int64))
        east, north = flat.metres_per_degree
        near = np.ones(len(first), dtype=bool)
        middles = ((flat.centre.latitude, north), (flat.centre.longitude, east))
        for (least, most), (middle, scale) in zip(self._boxes, middles, strict=True):
            low, high = (middle - metres / scale) * TEN_MILLION, (middle + metres / scale) * TEN_MILLION
            near &= (least <= high) & (most >= low)
        lines = np.flatnonzero(near)
        sizes = last[lines] - first[lines]
        of = np.repeat(lines, sizes)
        at = np.arange(sizes.sum()) - np.repeat(np.cumsum(sizes) - sizes, sizes) + np.repeat(first[lines], sizes)
        starts, ends = (
            flat.points(self.latitudes[row] / TEN_MILLION, self.longitudes[row] / TEN_MILLION) for row in (at, at + 1)
        )
        inside = ((np.minimum(starts, ends) <= metres) & (np.maximum(starts, ends) >= -metres)).all(axis=1)
        nodes = np.stack([self.nodes[at], self.nodes[at + 1]], axis=1)
        return Pieces(starts, ends, of, nodes, at).some(inside)


@dataclass(frozen=True, eq=False)
class Ground:
    """Ways, and what bars walkers, of one road map."""

    ways: Lines
    bars: Lines
    names: Sequence[str]
    """Of each way; empty where it has none."""
    kinds: Sequence[str]
    """What sort of road each way is called, such as `main road`; empty where it is none for wheels."""
    whys: NDArray[np.int8]
    """Why a vehicle does not stop there, as `Why`."""
    walkable: Flags
    over: Flags
    """On a bridge or in a tunnel."""
    joined: dict[str, NDArray[np.int32]]
    """Of each point of the ways and sort of vehicle: to which joined roads the piece that begins there belongs."""
    bar_names: Sequence[str]
    """What each bar is called, such as `the river Arrow`."""
    bar_raised: Flags
    """On a bridge: a bar to open ground, but ways pass below."""
    bar_level: Flags
    """A railway or road, which a way crosses on the level where they share a point."""

    def around(self, place: Place, metres: float) -> Around:
        """Return what lies within a distance of a place."""
        flat = Flat(place)
        return Around(flat, self.ways.around(flat, metres), self.bars.around(flat, metres))


_LINES = ("starts", "latitudes", "longitudes", "nodes")
_WORDS = ("names", "kinds", "bar_names")
_PLAIN = ("whys", "walkable", "over", "bar_raised", "bar_level")


def write_ground(extract: Extract, rules: RoadRules, sorts: Sequence[Drives], path: Path) -> None:
    """Write what of a road map matters for stopping and walking."""
    fast = [number for number, tags in enumerate(extract.tags) if bar(tags)]
    bars = [(tags, *_points(extract, number)) for number in fast for tags in [extract.tags[number]]]
    bars += [(one.tags, one.nodes, one.latitudes, one.longitudes) for one in extract.bars]
    over = np.array([over_or_under(tags) for tags in extract.tags], dtype=bool)
    columns: dict[str, NDArray[np.generic]] = {
        "starts": np.asarray(extract.starts, dtype=np.int64),
        "latitudes": np.asarray(extract.latitudes, dtype=np.int32),
        "longitudes": np.asarray(extract.longitudes, dtype=np.int32),
        "nodes": np.asarray(extract.nodes, dtype=np.int64),
        "whys": np.array([why_not(tags) for tags in extract.tags], dtype=np.int8),
        "walkable": np.array([walkable(tags) for tags in extract.tags], dtype=bool),
        "over": over,
        "bar_starts": np.cumsum([0, *(len(one[1]) for one in bars)], dtype=np.int64),
        "bar_latitudes": np.array([value for one in bars for value in one[2]], dtype=np.int32),
        "bar_longitudes": np.array([value for one in bars for value in one[3]], dtype=np.int32),
        "bar_nodes": np.array([value for one in bars for value in one[1]], dtype=np.int64),
        "bar_raised": np.array([raised(one[0]) for one in bars], dtype=bool),
        "bar_level": np.array(["highway" in one[0] or "railway" in one[0] for one in bars], dtype=bool),
    }
    wheels = {kind.removesuffix("_link") for kind in (*rules.speeds_kmh, "track")}
    roads = [tags["highway"] for tags in extract.tags]
    columns |= _words("names", (label(tags) for tags in extract.tags))
    columns |= _words("kinds", (road_words(road) if road.removesuffix("_link") in wheels else "" for road in roads))
    columns |= _words("bar_names", (" ".join(["the", bar(one[0]), label(one[0])]).strip() for one in bars))
    for drives in sorts:
        columns[f"joined {drives}"] = joined(extract, drives, rules)
    np.savez_compressed(path, **columns)  # type: ignore[arg-type]


def read_ground(path: Path) -> Ground:
    """Return what `write_ground` wrote."""
    with np.load(path, allow_pickle=False) as kept:
        columns = dict(kept)
    words = {name: columns[f"{name} words"][columns[name]].tolist() for name in _WORDS}
    return Ground(
        ways=Lines(*(columns[name] for name in _LINES)),
        bars=Lines(*(columns[f"bar_{name}"] for name in _LINES)),
        joined={name.removeprefix("joined "): of for name, of in columns.items() if name.startswith("joined ")},
        **words,
        **{name: columns[name] for name in _PLAIN},
    )


def _points(extract: Extract, way: int) -> tuple[Sequence[int], Sequence[int], Sequence[int]]:
    span = slice(extract.starts[way], extract.starts[way + 1])
    return extract.nodes[span], extract.latitudes[span], extract.longitudes[span]


def _words(name: str, texts: Iterable[str]) -> dict[str, NDArray[np.generic]]:
    """Return texts as numbers of a list in which each stands once, since most ways share theirs."""
    numbers: dict[str, int] = {}
    found = np.array([numbers.setdefault(text, len(numbers)) for text in texts], dtype=np.int32)
    return {name: found, f"{name} words": np.array(list(numbers) or [""], dtype=np.str_)}
