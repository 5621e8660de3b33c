"""What was searched for once is not searched for again: a written round, while all that it rests on is the same.

Beside the rounds stands a list, `.planned` in the farm folder: for each round a digest of all that it was planned from,
and of the file that it was written to. All is the farm as it is planned (its files, forecast and record, the jobs that
are due), the drives, the road map, the dates, what was wished, and the program itself with the libraries that search.
Not when something was written but what it holds is compared, so a round of a farm that has changed is never found, and
one that was changed by hand is not taken either.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import Field, ValidationError

from routing.errors import AskedError
from routing.farm.models import Farm, Frozen
from routing.farm.plain_files import open_plain, read_plain
from routing.output.ledger import PLANNED as FILE
from routing.output.ledger import digest
from routing.output.whole import put_private
from routing.round import Round
from routing.share.exports.files import read_round
from routing.travel.legs import MOST_WIDE

if TYPE_CHECKING:
    import datetime as dt

    from routing.travel.legs import Legs

MOST_LINES = 400
"""Of the list; when there are more, the older half goes."""

MOST_BYTES = 1_000_000

SEARCHING = ("numba", "numpy", "ortools", "pyvalhalla", "pyvroom", "pyvrp")
"""Libraries whose next version may find another round."""


class Kept(Frozen):
    """One line of the list."""

    key: str = Field(pattern=r"^[0-9a-f]{64}$")
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")
    """Of the file."""
    place: str
    """Of the file: relative to the farm folder inside it, absolute outside."""
    timed: bool = False
    """Whether the search was ended by the clock."""


def key_of(farm: Farm, legs: Legs, dates: Sequence[dt.date], wished: Mapping[str, object]) -> str:
    """Return the digest of all that a round of these dates is planned from; empty for a farm of very many places.

    `farm` and `legs` are those that planning reads; where the farm folder lies does not count. Raises OSError where the
    road map cannot be read any more.
    """
    if len(legs.places) > MOST_WIDE:
        return ""
    made_of = hashlib.sha256(_program().encode())
    facts = farm.model_dump(exclude={"folder", "road_map"})
    made_of.update(_text((tuple(dates), wished, facts)).encode())
    _add_legs(made_of.update, legs)
    if farm.road_map is not None:
        with open_plain(farm.road_map) as file:
            made_of.update(hashlib.file_digest(file, "sha256").digest())
    return made_of.hexdigest()


def found(folder: Path, key: str, *, timed: bool) -> Round | None:
    """Return the round that was planned from just this, if it still stands as it was written; None elsewhere.

    The last one that was written is looked for; where not `timed`, the last that no clock ended.
    """
    for kept in reversed(_listed(folder)):
        if kept.key == key and (timed or not kept.timed):
            path = folder / kept.place
            if digest(path) == kept.sha256:
                return _read(path)
    return None


def note(folder: Path, key: str, file: Path, *, timed: bool) -> None:
    """Write down from what the round in a file was planned; a list that cannot be written is done without."""
    place = file.resolve()
    inside = place.is_relative_to(folder.resolve())
    told = place.relative_to(folder.resolve()) if inside else place
    new = Kept(key=key, sha256=digest(file), place=told.as_posix(), timed=timed)
    before = [kept for kept in _listed(folder) if kept.place != new.place]  # of that file only this is true now
    if len(before) >= MOST_LINES:
        before = before[len(before) // 2 :]
    with suppress(OSError):
        put_private(folder / FILE, "".join(f"{kept.model_dump_json()}\n" for kept in (*before, new)).encode())


def _listed(folder: Path) -> list[Kept]:
    try:
        lines = read_plain(folder / FILE, MOST_BYTES)[:MOST_BYTES].splitlines()
    except OSError:
        return []
    return [kept for kept in map(_line, lines) if kept is not None]


def _line(line: bytes) -> Kept | None:
    try:
        return Kept.model_validate_json(line)
    except ValidationError:
        return None


def _read(path: Path) -> Round | None:
    try:
        return read_round(path)
    except AskedError:
        return None


def _text(value: object) -> str:
    """Return a value as text that is the same in every process: the numbers that order sets differ between them."""
    if isinstance(value, Mapping):
        return f"{{{','.join(f'{key!r}:{_text(each)}' for key, each in value.items())}}}"
    if isinstance(value, tuple | list):
        return f"({','.join(map(_text, value))})"
    if isinstance(value, frozenset | set):
        return f"<{','.join(sorted(map(_text, value)))}>"
    return repr(value)


def _add_legs(add: Callable[[bytes], object], legs: Legs) -> None:
    told = (legs.places, legs.origins, legs.no_road, legs.barred, legs.parked, legs.notes, list(legs.by_vehicle))
    add(_text(told).encode())
    for numbers in (legs.seconds, legs.metres):
        add(numbers.tobytes())
    for vehicle in legs.by_vehicle.values():
        _add_legs(add, vehicle)


@cache
def _program() -> str:
    """Return what tells this program from every other version of it, and of the libraries that search."""
    libraries = [f"{name} {version(name)}" for name in SEARCHING]
    made_of = hashlib.sha256("\n".join(libraries).encode())
    for file in _files(Path(__file__).parents[1]):
        made_of.update(file.read_bytes())
    return made_of.hexdigest()


def _files(folder: Path) -> Iterable[Path]:
    return sorted(path for path in folder.rglob("*") if path.suffix in {".py", ".toml"})
