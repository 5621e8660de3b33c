"""Tiles built from a road map, kept in the user's cache folder under a key of all that went into them.

A build is made whole beside its place and moved there at the end: a broken map or an interrupt changes nothing.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import subprocess
import tempfile
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import valhalla
from platformdirs import user_cache_path

from routing.errors import RoadError
from routing.farm.faults import quoted
from routing.farm.models import Drives, RoadRules
from routing.travel.roads.extract import read_extract
from routing.travel.roads.ground import write_ground
from routing.travel.roads.settings import engine_settings
from routing.travel.roads.store import write_store
from routing.travel.roads.vehicle_map import write_vehicle_map

LAYOUT = 3
"""Raised whenever what is built from the same map and rules changes."""

ABOUT = "about.json"
STORE = "lines.npz"
GROUND = "ground.npz"
_STAGES = re.compile(r"Parsing ways|Parsing nodes|Building \d+ tiles|Enhancing|HierarchyBuilder|shortcuts|Validating")

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


def cache_folder() -> Path:
    """Return where builds and matrices are kept."""
    return user_cache_path("outyard", appauthor=False) / "roads"


def built(path: Path, rules: RoadRules, sorts: Iterable[Drives], progress: Progress = no_progress) -> Built:
    """Return the build of a road map for these sorts of vehicles; it is made where there is none of the same content.

    Raises RoadError where the map cannot be read or the build cannot be made or kept.
    """
    wanted = sorted(set(sorts))
    key = _key(path, rules, wanted)
    folder = cache_folder() / key
    if not (folder / ABOUT).is_file():
        try:
            folder.parent.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryDirectory(prefix=".build-", dir=folder.parent, ignore_cleanup_errors=True) as beside:
                whole = Path(beside) / key
                whole.mkdir()
                _build(path, rules, wanted, whole, progress)
                _settle(whole, folder)
        except OSError as error:
            raise RoadError(
                f"the road map cannot be built in {quoted(str(folder.parent))}: {error.strerror or error}; "
                "free some space or allow writing there"
            ) from error
    about = json.loads((folder / ABOUT).read_text(encoding="utf-8"))
    return Built(map=path.name, folder=folder, key=key, **about)


def _settle(whole: Path, folder: Path) -> None:
    """Move a finished build to its place; where another run was first, its own stands."""
    try:
        whole.rename(folder)
    except OSError:
        if not (folder / ABOUT).is_file():
            raise


def _key(path: Path, rules: RoadRules, sorts: list[Drives]) -> str:
    """Return the key of a build. Raises RoadError where the map cannot be read."""
    try:
        with path.open("rb") as file:
            content = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise RoadError(
            f"road map {quoted(path.name)} cannot be opened: {error.strerror or error}; see maps/README.md"
        ) from error
    made_of = (LAYOUT, valhalla.__version__, content, path.suffix, sorts, _speeds(rules))
    return hashlib.sha256(json.dumps(made_of).encode()).hexdigest()[:32]


def _speeds(rules: RoadRules) -> dict[str, Any]:
    """Return the rules that go into tiles; gates and walks are counted later."""
    return rules.model_dump(include={"speeds_kmh", "limits_kmh", "lane_kmh", "track_kmh"})


def _build(path: Path, rules: RoadRules, sorts: list[Drives], whole: Path, progress: Progress) -> None:
    progress("Reading the road map", 0.0)
    extract = read_extract(path, lambda ways: progress(f"Reading the road map: {ways} ways", 0.0))
    write_store(extract, whole / STORE)
    write_ground(extract, rules, sorts, whole / GROUND)
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
        for share in _build_tiles(vehicle_map, tiles):
            progress(f"Building the roads for a {drives}", begin + span * share)
        vehicle_map.unlink()
    south, west, north, east = extract.box
    about = Built(path.name, whole, "", south, west, north, east, ways, len(extract.places))
    kept = {name: value for name, value in asdict(about).items() if name not in {"map", "folder", "key"}}
    (whole / ABOUT).write_text(json.dumps(kept), encoding="utf-8")
    progress("The road map is built", 1.0)


def _build_tiles(vehicle_map: Path, tiles: Path) -> Iterator[float]:
    """Run the engine's tile builder to its end and yield the share that is done. Raises RoadError where it fails."""
    settings = tiles.parent / "settings.json"
    settings.write_text(json.dumps(engine_settings(tiles, logging="std_out")), encoding="utf-8")
    program = (
        Path(valhalla.PYVALHALLA_DIR)
        / "bin"
        / ("valhalla_build_tiles.exe" if os.name == "nt" else "valhalla_build_tiles")
    )
    command = [str(program), "-c", str(settings), str(vehicle_map)]
    said: list[str] = []
    with subprocess.Popen(  # noqa: S603 - the engine's own program
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, errors="replace"
    ) as run:
        stages = 0
        for line in run.stdout or ():
            said = [*said[-1:], line.strip()]
            if _STAGES.search(line):
                stages += 1
                yield min(0.95, 0.2 + stages * 0.09)
    settings.unlink()
    if run.returncode != 0 or not any(tiles.rglob("*.gph")):
        why = " / ".join(quoted(line)[1:-1] for line in said)
        raise RoadError(f"the road map could not be built; the tile builder says: {why}; try a newer extract")


def _folder_name(drives: Drives) -> str:
    return drives.replace(" ", "-")
