"""Single files, each written whole: beside its place, then moved there; where one fails, all are put back."""

from __future__ import annotations

import contextlib
import hashlib
import os
import secrets
import shutil
import stat
from collections.abc import Mapping
from pathlib import Path

from routing.errors import AskedError, WriteError
from routing.farm.faults import quoted
from routing.output.beside import PART, way_out, writing_in
from routing.output.places import SHOWN, Ground, may_be_written
from routing.output.whole import sync_folder, write_new


def write_files(
    contents: Mapping[Path, str | bytes],
    ground: Ground,
    *,
    options: Mapping[Path, str] | None = None,
    private: bool = False,
    own_name: bool = False,
) -> tuple[Path, ...]:
    """Write each text to its file, as UTF-8, or each file's bytes, and return the files; missing folders are made.

    `options` has the option that names each. What is `private` is for nobody else to read; another file keeps the mode
    of the one it takes the place of. Raises AskedError where a file may not be written, or two are one, and WriteError
    where one cannot be.
    """
    for path in contents:
        may_be_written(path, ground, (options or {}).get(path, ""), own_name=own_name)
    places = {path: path.parent.resolve() / path.name for path in contents}
    if len(set(places.values())) < len(places):
        raise AskedError("two of the files to write are the same; give each its own name")
    texts = {
        places[path]: content.encode() if isinstance(content, str) else content for path, content in contents.items()
    }
    try:
        with contextlib.ExitStack() as held:
            # in one order, so that no two writers wait for each other
            for folder in sorted({place.parent for place in texts}):
                folder.mkdir(parents=True, exist_ok=True)
                held.enter_context(writing_in(folder))
            for path in contents:
                may_be_written(path, ground, (options or {}).get(path, ""), own_name=own_name)
            _write(texts, ground, private=private)
    except OSError as error:
        named = ", ".join(quoted(str(path), longest=SHOWN) for path in contents)
        raise WriteError(
            f"cannot write {named}: {error.strerror or error}; what stood there before still stands: {way_out(error)} "
            "or name another file"
        ) from error
    return tuple(contents)


def _write(texts: Mapping[Path, bytes], ground: Ground, *, private: bool) -> None:
    parts: dict[Path, Path] = {}
    before: dict[Path, Path] = {}
    try:
        for place, content in texts.items():
            parts[place] = _part_name(place)
            write_new(parts[place], content, private=private)
            if os.path.lexists(place):
                if not private:
                    parts[place].chmod(stat.S_IMODE(place.stat().st_mode))
                before[place] = _second_name(place)
        ground.ledger.note({place: hashlib.sha256(content).hexdigest() for place, content in texts.items()})
        _move(parts, before)
    finally:
        for part in (*parts.values(), *before.values()):
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)


def _move(parts: Mapping[Path, Path], before: Mapping[Path, Path]) -> None:
    """Move the new files to their places; on any failure put the old ones back."""
    moved: list[Path] = []
    try:
        for place, part in parts.items():
            moved.append(place)
            part.replace(place)
    except BaseException:  # an interrupt between two moves must not leave some of the files either
        for place in moved:
            if parts[place].exists():
                continue
            if place in before:
                before[place].replace(place)
            else:
                place.unlink()
        raise
    for folder in {place.parent for place in parts}:
        sync_folder(folder)


def _second_name(place: Path) -> Path:
    """Return a second name of what stands at a place, or a copy where the file system knows no second names."""
    second = _part_name(place)
    try:
        os.link(place, second)
    except OSError:
        shutil.copy2(place, second)
    return second


def _part_name(place: Path) -> Path:
    """Return a name beside a place that nothing has yet."""
    return place.parent / (PART + secrets.token_hex(8))
