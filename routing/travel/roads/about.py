"""What a build says of itself: what it covers, of which map it is, and a digest of each of its files."""

from __future__ import annotations

import hashlib
import json
import os
from pathlib import Path
from typing import Any

from routing.farm.on_disk import is_link
from routing.farm.plain_files import open_plain
from routing.travel.roads.cache import DamagedError, read_kept, write_kept
from routing.travel.roads.sweep import Source

ABOUT = "about.json"


def write_about(folder: Path, covers: dict[str, Any], source: Source) -> None:
    """Write into a finished build what it covers and is made of. Raises OSError."""
    told = {"covers": covers, "map": source.path, "content": source.content, "files": _files(folder)}
    write_kept(folder / ABOUT, folder.name, lambda file: file.write(json.dumps(told).encode()))


def read_build(folder: Path) -> dict[str, Any] | None:
    """Return what a build covers, None where there is none.

    Raises DamagedError where a file of it is missing, was changed, came to it, or is another build's.
    """
    if not os.path.lexists(folder):
        return None
    told = _told(folder)
    try:
        files = _files(folder)
    except OSError as error:
        raise DamagedError(folder.name) from error
    if files != told["files"]:
        raise DamagedError(folder.name)
    covers: dict[str, Any] = told["covers"]
    return covers


def source_of(folder: Path) -> Source:
    """Return which map a build is of. Raises DamagedError."""
    told = _told(folder)
    return Source(told["map"], told["content"])


def _told(folder: Path) -> dict[str, Any]:
    told: dict[str, Any] | None = read_kept(folder / ABOUT, folder.name, json.load)
    if told is None:
        raise DamagedError(folder.name)
    return told


def _files(folder: Path) -> dict[str, str]:
    """Return the digest of each file but the one that tells them. Raises OSError."""
    found = {}
    for where, folders, names in os.walk(folder, onerror=_raise):
        for name in [*names, *(one for one in folders if is_link(Path(where) / one))]:
            path = Path(where) / name
            if path != folder / ABOUT:
                with open_plain(path) as file:
                    digest = hashlib.file_digest(file, "sha256").hexdigest()
                found[path.relative_to(folder).as_posix()] = digest
    return found


def _raise(error: OSError) -> None:
    raise error
