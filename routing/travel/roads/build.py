"""Tiles built from a road map, kept in the user's cache folder under a key of all that went into them.

A build is made whole beside its place and moved there at the end: a broken map or an interrupt changes nothing.
"""

from __future__ import annotations

import hashlib
import json
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import valhalla

from routing.errors import RoadError
from routing.farm.faults import quoted
from routing.farm.models import Drives, RoadRules
from routing.farm.on_disk import as_named
from routing.farm.plain_files import open_plain
from routing.travel.roads.about import ABOUT, read_build, source_of, write_about
from routing.travel.roads.cache import DamagedError, cache_folder, flush, flush_folder, not_kept, tell_damage
from routing.travel.roads.extract import read_extract
from routing.travel.roads.ground import write_ground
from routing.travel.roads.land import write_land
from routing.travel.roads.store import write_store
from routing.travel.roads.sweep import BUILDING, Source, held, sweep, used
from routing.travel.roads.tiles import build_tiles
from routing.travel.roads.vehicle_map import write_vehicle_map

LAYOUT = 5
"""Raised whenever what is built from the same map and rules changes."""

STORE = "lines.npz"
GROUND = "ground.npz"
LAND = "land.npz"

Progress = Callable[[str, float], None]
"""Is called with what is being done and the share that is done, 0 to 1."""


def no_progress(_words: str, _share: float) -> None:
    """Tell nobody."""


@dataclass(frozen=True)
class Built:
    """A finished build and what it covers."""

    map: str
    """The name of the map's file."""
    folder: Path
    key: str
    south: float
    west: float
    north: float
    east: float
    ways: dict[str, int]
    """How many ways each sort of vehicle may use."""
    places: int

    @property
    def ground(self) -> Path:
        """Where what matters for stopping and walking is kept."""
        return self.folder / GROUND

    def tiles(self, drives: Drives) -> Path:
        """Return the folder of the tiles for one sort of vehicle."""
        return self.folder / _folder_name(drives)


def built(path: Path, rules: RoadRules, sorts: Iterable[Drives], progress: Progress = no_progress) -> Built:
    """Return the build of a road map for these sorts of vehicles; it is made where there is none of the same content.

    A build of which a file is missing or changed is made anew, and said. Raises RoadError where the map cannot be read
    or the build cannot be made or kept.
    """
    wanted = sorted(set(sorts))
    source = _source(path)
    key = _key(path, source, rules, wanted)
    cache = cache_folder()
    folder = cache / key
    try:
        found = read_build(folder)
    except DamagedError:
        tell_damage(f"the built road map {quoted(path.name)}")
        found = None
    if found is None:
        _make(path, rules, wanted, folder, source, progress)
        found = _finished(folder)
    used(folder / ABOUT)
    sweep(cache, ABOUT, source_of, source)
    return Built(map=path.name, folder=folder, key=key, **found)


def _make(path: Path, rules: RoadRules, sorts: list[Drives], folder: Path, source: Source, progress: Progress) -> None:
    """Make a build beside its place and move it there. Raises RoadError."""
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with _beside(folder.parent) as beside, held(beside):
            whole = beside / folder.name
            whole.mkdir()
            about = _build(path, rules, sorts, whole, progress)
            write_about(whole, about, source)
            flush(whole)
            _settle(whole, folder)
    except OSError as error:
        raise not_kept("the road map cannot be built", folder.parent, error) from error


@contextmanager
def _beside(cache: Path) -> Iterator[Path]:
    """Give a new folder in the cache, which is removed at the end with all that is still in it. Raises OSError."""
    with tempfile.TemporaryDirectory(prefix=BUILDING, dir=cache, ignore_cleanup_errors=True) as beside:
        yield Path(beside)


def _finished(folder: Path) -> dict[str, Any]:
    """Return what was just built. Raises RoadError where the disk does not give back what was written."""
    try:
        found = read_build(folder)
    except DamagedError:
        found = None
    if found is None:
        where = quoted(str(folder.parent), longest=1000)
        raise RoadError(f"the road map was built in {where}, but cannot be read there again; look at that disk")
    return found


def _settle(whole: Path, folder: Path) -> None:
    """Move a finished build to its place; where another run was first, its own stands, and what is damaged goes."""
    try:
        whole.rename(folder)
    except OSError:
        try:
            if read_build(folder) is not None:
                return
        except DamagedError:
            folder.rename(whole.parent / "damaged")
        whole.rename(folder)
    flush_folder(folder.parent)


def _source(path: Path) -> Source:
    """Return which map is meant and what it holds. Raises RoadError where it cannot be read."""
    try:
        with open_plain(path) as file:
            content = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise RoadError(
            f"road map {quoted(path.name)} cannot be opened: {error.strerror or error}; see maps/README.md"
        ) from error
    return Source(str(as_named(path)), content)


def _key(path: Path, source: Source, rules: RoadRules, sorts: list[Drives]) -> str:
    """Return the key of a build."""
    made_of = (LAYOUT, valhalla.__version__, source.content, path.suffix, sorts, _speeds(rules))
    return hashlib.sha256(json.dumps(made_of).encode()).hexdigest()[:32]


def _speeds(rules: RoadRules) -> dict[str, Any]:
    """Return the rules that go into tiles; gates and walks are counted later."""
    return rules.model_dump(include={"speeds_kmh", "limits_kmh", "lane_kmh", "track_kmh"})


def _build(path: Path, rules: RoadRules, sorts: list[Drives], whole: Path, progress: Progress) -> dict[str, Any]:
    """Build all files and return what they cover, as the fields of `Built` have it. Raises RoadError and OSError."""
    progress("Reading the road map", 0.0)
    extract = read_extract(path, lambda ways: progress(f"Reading the road map: {ways} ways", 0.0))
    write_store(extract, whole / STORE)
    write_ground(extract, rules, sorts, whole / GROUND)
    progress("Reading woods, waters and landmarks", 0.2)
    write_land(path, extract, whole / LAND)
    ways: dict[str, int] = {}
    for number, drives in enumerate(sorts):
        begin, span = 0.3 + 0.7 * number / len(sorts), 0.7 / len(sorts)
        progress(f"Writing the roads for a {drives}", begin)
        vehicle_map = whole / "vehicle.osm.pbf"
        ways[drives] = write_vehicle_map(extract, drives, rules, vehicle_map)
        if not ways[drives]:
            raise RoadError(f"road map {quoted(path.name)} holds no road that a {drives} may use")
        tiles = whole / _folder_name(drives)
        tiles.mkdir()
        for share in build_tiles(vehicle_map, tiles):
            progress(f"Building the roads for a {drives}", begin + span * share)
        vehicle_map.unlink()
    south, west, north, east = extract.box
    progress("The road map is built", 1.0)
    places = len(extract.places)
    return {"south": south, "west": west, "north": north, "east": east, "ways": ways, "places": places}


def _folder_name(drives: Drives) -> str:
    return drives.replace(" ", "-")
