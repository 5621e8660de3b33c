"""A file changed over in one step, only where it is still what it was read as.

The new file is written beside the old one and flushed; where the system can, the two change places at once and what
came out is looked at, so that not even what another program writes in that moment is lost. A kill leaves old or new.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import secrets
import shutil
import stat
from pathlib import Path

from routing.errors import WriteError
from routing.farm.faults import quoted
from routing.farm.on_disk import as_named
from routing.farm.plain_files import read_plain
from routing.output.beside import PART, way_out, writing_in
from routing.output.exchange import exchange
from routing.output.whole import sync_folder, write_new

MOST_BYTES = 20_000_000
NO_FILE = ""
"""The digest of a file that is not there."""


class ChangedMeanwhileError(Exception):
    """The file is not what the change was made for: someone else wrote it. Nothing was written."""


def digest_of(content: bytes | None) -> str:
    """Return the SHA-256 of a file's content in hexadecimal; empty where there is no file."""
    return NO_FILE if content is None else hashlib.sha256(content).hexdigest()


def content_of(path: Path) -> bytes | None:
    """Return what stands in a plain file, None where there is none. Raises OSError where it cannot be read."""
    try:
        content = read_plain(path, MOST_BYTES)
    except FileNotFoundError:
        return None
    if len(content) > MOST_BYTES:
        raise OSError(f"is larger than {MOST_BYTES // 1_000_000} million bytes")
    return content


def save(folder: Path, name: str, before: str, after: bytes | None) -> None:
    """Write a file of a farm folder, or remove it for None, where its digest still is `before`.

    Raises ChangedMeanwhileError where it is not, and WriteError where it cannot be written; what stood there stands.
    """
    try:
        place = (folder / name).resolve()
        if not place.is_relative_to(folder.resolve()) and as_named(folder / name) != place:
            raise WriteError(f"cannot write {quoted(name)}: a link leads out of the farm folder; edit the file there")
        with writing_in(place.parent):
            if digest_of(content_of(place)) != before:
                raise ChangedMeanwhileError(name)
            if after is None:
                place.unlink(missing_ok=True)
            else:
                _change_over(place, before, after)
            sync_folder(place.parent)
    except (OSError, RuntimeError) as error:
        if isinstance(error, WriteError):
            raise
        why = getattr(error, "strerror", None) or error
        way = way_out(error) if isinstance(error, OSError) else "look at its links,"
        raise WriteError(
            f"cannot write {quoted(name)}: {why}; what stood there before still stands: {way} and try again"
        ) from error


def _change_over(place: Path, before: str, after: bytes) -> None:
    part = place.parent / (PART + secrets.token_hex(8))
    try:
        write_new(part, after, private=False)
        if before == NO_FILE:
            _first(part, place)
            return
        _same_outside(place, part)
        if not exchange(part, place):
            part.replace(place)
        elif digest_of(content_of(part)) != before:
            exchange(part, place)
            raise ChangedMeanwhileError(place.name)
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)


def _first(part: Path, place: Path) -> None:
    """Give a new file its name, never over another."""
    try:
        os.link(part, place)
    except FileExistsError:
        raise ChangedMeanwhileError(place.name) from None
    except OSError:  # a file system without second names
        with place.open("xb") as target, part.open("rb") as source:
            shutil.copyfileobj(source, target)


def _same_outside(old: Path, new: Path) -> None:
    """Give the new file the mode and, where that is allowed, the owner of the old one."""
    told = old.stat()
    with contextlib.suppress(OSError, AttributeError):
        if (told.st_uid, told.st_gid) != (os.geteuid(), os.getegid()):
            os.chown(new, told.st_uid, told.st_gid)
    new.chmod(stat.S_IMODE(told.st_mode))
