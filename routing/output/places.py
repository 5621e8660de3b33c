"""Where output may go: one function decides it, for every command and option."""

from __future__ import annotations

import os
import stat
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from routing.errors import AskedError
from routing.farm.faults import quoted
from routing.farm.folder import FILES
from routing.farm.on_disk import as_named, is_folder, is_there
from routing.farm.sources import BOOKS
from routing.output.ledger import FILE as LEDGER
from routing.output.ledger import PLANNED, Ledger

LOG = "log.sqlite"
RESERVED = (
    *FILES,
    *BOOKS,
    *("visits.csv", "driven.csv", "weather.csv", "weather.json", "found_places.json", "rounds.jsonl", LEDGER, PLANNED),
    *(LOG, f"{LOG}-wal", f"{LOG}-shm", f"{LOG}-journal"),
)
"""Names in a farm folder that belong to the farm, whether such a file stands there or not."""
KEPT_BEFORE = "log-before-mending-"
"""What a log was before it was mended begins so."""
MAP_ENDINGS = (".pbf", ".osm", ".osm.bz2", ".osm.gz", ".osm.xml")
SHOWN = 1000
"""Characters of a path that are shown."""


@dataclass(frozen=True)
class Ground:
    """What one command must not write over.

    `reads` are files that the command itself reads, such as a saved round; `replace` is the farmer's word that a file
    which this program did not write may go.
    """

    farm: Path | None
    road_map: Path | None = None
    reads: tuple[Path, ...] = ()
    replace: bool = False

    @cached_property
    def ledger(self) -> Ledger:
        """What this program wrote for the farm."""
        return Ledger(self.farm)


def may_be_written(path: Path, ground: Ground, option: str = "", *, own_name: bool = False) -> None:
    """Raise AskedError where an output file may not go to `path`; `option` is the one that names it.

    Never onto a file of a farm, a log or what belongs to it, a road map or another kept file, a device, pipe or folder,
    or a link, nor through a link out of the farm folder. A file that this program did not write, or that was changed
    since, only where `ground.replace` says so. `own_name` allows a name of the farm's, for the command that keeps it.
    """
    told = f"{option} {quoted(str(path), longest=SHOWN)}".strip()
    if path.name in {"", ".."} or "\0" in str(path) or (os.name == "nt" and ":" in path.name):
        raise AskedError(f"{told} names no file; give the file a name")
    kind = _kind(path, told)
    _in_its_place(path, ground, told)
    if not own_name and (whose := _belongs(path, ground)):
        raise AskedError(f"{told} would be written over {whose}; give it another name")
    if kind is not None and not stat.S_ISREG(kind):
        what = "a folder" if stat.S_ISDIR(kind) else "a device, pipe or socket, and no file"
        raise AskedError(f"cannot write {told}: it is {what}; give the file another name")
    if kind is not None and not ground.replace and not ground.ledger.knows(path):
        raise AskedError(
            f"cannot write {told}: a file stands there that is not known as written by outyard, or was changed since; "
            "give it another name, or say --replace"
        )


def may_be_filled(folder: Path, names: Iterable[str], ground: Ground, option: str = "") -> None:
    """Raise AskedError where a folder may not be written as a whole with files of these names in it.

    It is none that a farm, a home or another drive hangs on, nor the one that is worked in: it changes places with a
    new one. What else stands in it stays, but a folder with folders of other things and nothing of ours is not taken.
    """
    told = f"{option} {quoted(str(folder), longest=SHOWN)}".strip()
    if "\0" in str(folder):
        raise AskedError(f"{told} names no folder; give the folder a name")
    kind = _kind(folder, told)
    _in_its_place(folder, ground, told)
    if whose := _belongs(folder, ground):
        raise AskedError(f"{told} would be in the place of {whose}; give the folder another name")
    real = folder.resolve()
    instead = quoted(str(folder / "round"), longest=SHOWN)
    for place, why in _hung_on(ground):
        if place.is_relative_to(real):
            raise AskedError(f"cannot write to {told}: it {why}; name a folder of its own, such as {instead}")
    if kind is None:
        return
    if not stat.S_ISDIR(kind):
        raise AskedError(f"cannot write to {told}: it is no folder; name another folder")
    if what := _other_things(real, ground):
        raise AskedError(f"cannot write to {told}: {what}; name a folder of its own, such as {instead}")
    for name in names:
        may_be_written(folder / name, ground, option)


def _other_things(folder: Path, ground: Ground) -> str:
    """Return why a folder is not one for a round alone, an empty text where it is one."""
    try:
        entries = list(os.scandir(folder))
    except OSError as error:
        return str(error.strerror)
    if any(entry.name in {FILES[0], LOG} for entry in entries):
        return "it is a farm folder"
    if folder.is_mount():
        return "it is another drive"
    strange = any(entry.is_dir(follow_symlinks=False) and not left_behind(entry.name) for entry in entries)
    if strange and not any(ground.ledger.knows(Path(entry.path)) for entry in entries):
        return "it holds folders of other things"
    return ""


def shown(path: Path | str) -> str:
    """Return a path or a name as it is shown, safe on any screen."""
    return quoted(str(path), longest=SHOWN)[1:-1]


def left_behind(name: str) -> bool:
    """Return whether a name is one of the hidden ones that writing uses on the way."""
    return name.startswith((".outyard-", ".round-"))


def _kind(path: Path, told: str) -> int | None:
    """Return the mode of what stands at a path, None for nothing. Raises AskedError for a link."""
    try:
        kind = os.lstat(path).st_mode
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        raise AskedError(f"cannot write {told}: {error.strerror}; give another name") from error
    if stat.S_ISLNK(kind) or (hasattr(path, "is_junction") and path.is_junction()):
        raise AskedError(f"cannot write {told}: it is a link; name the place itself that is meant")
    return kind


def _in_its_place(path: Path, ground: Ground, told: str) -> None:
    """Raise AskedError where the way to a path leads over a file, in a circle, or by a link out of the farm folder."""
    try:
        real = path.parent.resolve()
        standing = next(place for place in (real, *real.parents) if os.path.lexists(place))
        if not is_folder(standing):
            raise AskedError(f"cannot write {told}: {quoted(standing.name)} is no folder; name another folder")
        if ground.farm is None:
            return
        within = as_named(path.parent).is_relative_to(as_named(ground.farm))
        if within and not real.is_relative_to(ground.farm.resolve()):
            raise AskedError(f"cannot write {told}: a link leads out of the farm folder; name the place itself")
    except (OSError, RuntimeError) as error:
        raise AskedError(f"cannot write {told}: there is no way to that place; give another name") from error


def _belongs(path: Path, ground: Ground) -> str:
    """Return the words for what a path belongs to, an empty text for nothing that is kept."""
    real = path.parent.resolve() / path.name
    if any(real == read.resolve() or _same(path, read) for read in ground.reads):
        return "the saved round that is read"
    if real.name.casefold().endswith(MAP_ENDINGS) or (ground.road_map is not None and _same(path, ground.road_map)):
        return "a road map"
    folders = [ground.farm.resolve()] if ground.farm is not None else []
    if is_there(real.parent / FILES[0]):
        folders.append(real.parent)
    for folder in folders:
        kept = _plain(real.name).startswith(KEPT_BEFORE)
        if real.parent == folder and (kept or _plain(real.name) in map(_plain, RESERVED)):
            return "a file of the farm folder"
        if any(_same(path, folder / name) for name in RESERVED):
            return "a file of the farm folder"
    return ""


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except (OSError, ValueError):
        return False


def _plain(name: str) -> str:
    """Return a name as file systems may take it that do not tell capitals, accents' forms or closing dots apart."""
    return unicodedata.normalize("NFC", name).casefold().rstrip(". ")


def _hung_on(ground: Ground) -> list[tuple[Path, str]]:
    """Return the places that no written folder may be or hold, with what is said of it."""
    hung = [] if ground.farm is None else [(ground.farm.resolve(), "is or holds the farm folder")]
    hung += [] if ground.road_map is None else [(ground.road_map.resolve(), "holds the road map")]
    try:
        hung.append((Path.cwd(), "is or holds the folder that you are working in"))
        hung.append((Path.home().resolve(), "is or holds your home folder"))
    except (OSError, RuntimeError):  # worked in a folder that is gone, or no home
        pass
    return hung
