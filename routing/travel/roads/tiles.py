"""The road engine's own program, which makes tiles of a vehicle's map."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import valhalla

from routing.errors import RoadError
from routing.farm.faults import quoted
from routing.travel.roads.cache import full_disk
from routing.travel.roads.settings import engine_settings

_STAGES = re.compile(r"Parsing ways|Parsing nodes|Building \d+ tiles|Enhancing|HierarchyBuilder|shortcuts|Validating")
_ROOM_BYTES = 1 << 20
"""The program does not look whether what it writes is written: with less room than this left, it was not."""


def build_tiles(vehicle_map: Path, tiles: Path) -> Iterator[float]:
    """Run the program to its end and yield the share that is done.

    Raises RoadError where it fails, OSError where the disk has become full.
    """
    settings = tiles.parent / "settings.json"
    settings.write_text(json.dumps(engine_settings(tiles, logging="std_out")), encoding="utf-8")
    name = "valhalla_build_tiles.exe" if os.name == "nt" else "valhalla_build_tiles"
    command = [str(Path(valhalla.PYVALHALLA_DIR) / "bin" / name), "-c", str(settings), str(vehicle_map)]
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
    if shutil.disk_usage(tiles).free < _ROOM_BYTES:
        raise full_disk()
    if run.returncode != 0 or not any(tiles.rglob("*.gph")):
        why = " / ".join(quoted(line)[1:-1] for line in said) or f"it ended with {run.returncode}"
        raise RoadError(f"the road map could not be built; the tile builder says: {why}; try a newer extract")
