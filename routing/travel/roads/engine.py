"""Questions to the road engine: which roads are joined, times and distances, and the way between two places."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Sequence
from functools import cached_property
from pathlib import Path
from typing import Any, Literal

import numpy as np
import valhalla
from numpy.typing import NDArray

from routing.farm.models import Place, RoadRules
from routing.travel.legs import UNREACHABLE, LegRoute
from routing.travel.roads.cache import not_kept
from routing.travel.roads.settings import driving, engine_settings
from routing.travel.roads.snap import Snap

_BLOCK = 500
"""Places asked from at once: what the engine answers stays a few megabytes."""

_SAME_WAY = 0.02
"""A way whose length is off the leg's by more than this share, and by more than a few metres, is another way."""

_FEW_METRES = 20
_TENTH = 0.1
_YARDS_PER_MILE = 1760
_METRES_PER_MILE = 1609.344
"""Source: international yard and pound agreement of 1959 (exact)."""

_MANY = 50
"""Roads that a joined road leads to and from at least; the engine's own default."""

_AT_THE_POINT = 2.0
"""Metres within which a road is the one that a point was put on."""

_AT_A_CROSSROADS = 1.0
"""Metres from where roads meet within which one leaves by any of them: a one-way road that ends there needs that."""

_NO_PATH = 442
"""Source: the engine's error codes, valhalla.github.io (No path could be found for input)."""


class Engine:
    """One sort of vehicle on one build. Not shared between threads."""

    def __init__(self, tiles: Path, rules: RoadRules) -> None:
        self._tiles = tiles
        self._driving = driving(rules)

    @cached_property
    def _actor(self) -> valhalla.Actor:
        """The engine itself, opened when the first question comes: what is kept on disk needs none."""
        try:
            with tempfile.TemporaryDirectory(prefix="outyard-", ignore_cleanup_errors=True) as folder:
                settings = Path(folder) / "settings.json"
                settings.write_text(json.dumps(engine_settings(self._tiles)), encoding="utf-8")
                return valhalla.Actor(settings)
        except OSError as error:
            raise not_kept(
                "the road engine's settings cannot be written", Path(tempfile.gettempdir()), error
            ) from error

    def joined(self, places: Sequence[Place]) -> tuple[bool, ...]:
        """Return of each point on a road whether many other roads lead there and away again."""
        if not places:
            return ()
        points = [_point(place.latitude, place.longitude) | {"minimum_reachability": _MANY} for place in places]
        answers = json.loads(self._actor.locate(json.dumps(self._driving | {"locations": points, "verbose": True})))
        return tuple(_is_joined(answer) for answer in answers)

    def matrix(self, snaps: Sequence[Snap]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return whole seconds and metres between all places, each of shape (n, n), `UNREACHABLE` where no way is.

        Places without a road must not be among them.
        """
        n = len(snaps)
        seconds, metres = np.full((n, n), UNREACHABLE, np.int64), np.full((n, n), UNREACHABLE, np.int64)
        points = [_location(snap) for snap in snaps]
        for first in range(0, n, _BLOCK):
            question = {"sources": points[first : first + _BLOCK], "targets": points, "verbose": False, "units": "km"}
            found = json.loads(self._actor.matrix(json.dumps(self._driving | question)))["sources_to_targets"]
            for i, (times, lengths) in enumerate(zip(found["durations"], found["distances"], strict=True), start=first):
                for j, (time, length) in enumerate(zip(times, lengths, strict=True)):
                    if time is not None and length is not None:
                        seconds[i, j], metres[i, j] = time, round(length * 1000)
        np.fill_diagonal(seconds, 0)
        np.fill_diagonal(metres, 0)
        return seconds, metres

    def way(self, start: Snap, end: Snap, metres: int, units: Literal["km", "miles"]) -> LegRoute:
        """Return the way between two places that is `metres` long, empty where the engine gives none.

        Now and then the engine's single way is another than its matrix has: then it is the matrix's line without turns.
        """
        question = {"locations": [_location(start), _location(end)], "units": units, "language": "en-GB"}
        try:
            trip = json.loads(self._actor.route(json.dumps(self._driving | question)))["trip"]
        except valhalla.ValhallaError as error:
            if error.code != _NO_PATH:
                raise
            return self._line(start, end, metres)
        found = trip["summary"]["length"] * (1000 if units == "km" else _METRES_PER_MILE)
        if not _same(found, metres):
            return self._line(start, end, metres)
        leg = trip["legs"][0]
        return LegRoute(leg["shape"], tuple(_turn(turn, units) for turn in leg["maneuvers"][:-1]))

    def _line(self, start: Snap, end: Snap, metres: int) -> LegRoute:
        """Return the matrix's own line between two places, empty where it is another than that of the whole matrix."""
        question = {"sources": [_location(start)], "targets": [_location(end)], "units": "km"}
        question |= {"shape_format": "polyline6"}
        found = json.loads(self._actor.matrix(json.dumps(self._driving | question)))["sources_to_targets"][0][0]
        if found["distance"] is None or not _same(found["distance"] * 1000, metres):
            return LegRoute("", ())
        return LegRoute(found.get("shape", ""), ())


def _is_joined(answer: dict[str, Any]) -> bool:
    """Return whether a road at the point itself is joined; farther ones the engine adds where that one is not."""
    edges = [edge for edge in answer.get("edges") or () if edge["distance"] <= _AT_THE_POINT]
    return any(min(edge["inbound_reach"], edge["outbound_reach"]) >= _MANY for edge in edges)


def _location(snap: Snap) -> dict[str, float]:
    if snap.road is None:
        raise ValueError("a place without a road cannot be driven to")
    return _point(snap.road.latitude, snap.road.longitude)


def _point(latitude: float, longitude: float) -> dict[str, float]:
    """Return a point for the engine: the road at it alone, so that one arrives and leaves at the same place."""
    alone = {"radius": 0, "node_snap_tolerance": _AT_A_CROSSROADS, "minimum_reachability": 0}
    return {"lat": latitude, "lon": longitude} | alone


def _same(found: float, metres: int) -> bool:
    return abs(found - metres) <= max(_FEW_METRES, _SAME_WAY * metres)


def _turn(turn: dict[str, Any], units: str) -> str:
    length = turn["length"]
    if length >= _TENTH:
        return f"{turn['instruction']} ({length:.1f} {units})"
    small = f"{length * 1000:.0f} m" if units == "km" else f"{length * _YARDS_PER_MILE:.0f} yards"
    return f"{turn['instruction']} ({small})"
