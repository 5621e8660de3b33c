"""Beginning: a farm out of a name and a base, the example farm, and a road map brought into a farm's folder."""

from __future__ import annotations

import os
import re
import secrets
import shutil
import unicodedata
from collections.abc import Iterable
from importlib import resources
from pathlib import Path

from routing import farm, travel
from routing.errors import AskedError, WriteError
from routing.farm.faults import quoted
from routing.farm.models import Place
from routing.farm.plain_files import open_plain
from routing.farm.starter import write_new_farm
from routing.output.beside import PART, way_out, writing_in
from routing.output.whole import sync_folder
from routing.travel.named import Named, search

MAP_ENDINGS = (".osm.pbf", ".osm")
LONGEST = 60
_EXAMPLE = "hollin-vale"


def folder_for(name: str, within: Path) -> Path:
    """Return a folder that is not there yet, named after a farm. Raises AskedError for a name without a letter."""
    plain = unicodedata.normalize("NFC", name).casefold()
    stem = "-".join(re.findall(r"\w+", plain))[:LONGEST].strip("-_")
    if not stem:
        raise AskedError("give the farm a name with a letter or a number in it")
    found, count = within / stem, 1
    while os.path.lexists(found):
        count += 1
        found = within / f"{stem}-{count}"
    return found


def new(folder: Path, name: str, base: Place, base_name: str) -> None:
    """Write a farm without a site, its vehicle and crew being examples to change. Raises WriteError."""
    write_new_farm(folder, farm.new_farm.empty_files(name, base, base_name))


def example(folder: Path) -> None:
    """Write the example farm, whose people and places are invented, with its road map. Raises WriteError."""
    write_new_farm(folder, {path.name: path.read_bytes() for path in _example().iterdir() if path.is_file()})


def _example() -> Path:
    """Return the example as it comes with the program: inside the package, or beside it in a checkout."""
    package = Path(str(resources.files("routing")))
    inside, beside = package / "example", package.parent / "examples" / _EXAMPLE
    return inside if inside.is_dir() else beside


def maps_in(folders: Iterable[Path]) -> list[Path]:
    """Return the road maps that stand in folders, the newest first."""
    found: dict[Path, float] = {}
    for folder in folders:
        try:
            with os.scandir(folder) as entries:
                maps = [one for one in entries if one.name.casefold().endswith(MAP_ENDINGS) and one.is_file()]
                found |= {Path(one.path): one.stat().st_mtime for one in maps}
        except OSError:  # a folder that is not there has no map
            continue
    return sorted(found, key=lambda path: (-found[path], path.name))


def bring_map(source: Path, folder: Path) -> str:
    """Copy a road map into a farm's folder, and return its name there; one that stands there already stays.

    Raises WriteError where it cannot be copied; nothing of it is left then.
    """
    if source.parent.resolve() == folder.resolve():
        return source.name
    place = folder / source.name
    part = folder / (PART + secrets.token_hex(8))
    try:
        with writing_in(folder):
            if os.path.lexists(place):
                raise AskedError(f"{quoted(source.name)} is in the farm folder already: choose that one")
            try:
                with open_plain(source) as read, part.open("xb") as written:
                    shutil.copyfileobj(read, written, 1 << 20)
                    written.flush()
                    os.fsync(written.fileno())
                part.rename(place)
            finally:
                part.unlink(missing_ok=True)
            sync_folder(folder)
    except OSError as error:
        raise WriteError(
            f"{quoted(source.name)} cannot be copied into the farm folder: {error.strerror or error}; "
            f"{way_out(error)} and try again"
        ) from error
    return source.name


def named_in(road_map: Path, words: str) -> list[Named]:
    """Return what words may mean among the names of a road map. Raises RoadError where it cannot be read."""
    names = travel.roads.place_names.place_names(road_map)
    middle = names[len(names) // 2].place if names else Place(latitude=0, longitude=0)
    return search(names, words, middle)
