"""Files kept in the user's cache folder, each under a digest of what it is for and what it holds.

A file that was emptied, cut, changed by a bit or put in the place of another is known by that and never parsed. What is
written is flushed to the disk before it takes its place, so that a power cut leaves the old file, the new one or none.
"""

from __future__ import annotations

import errno
import hashlib
import logging
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import IO, BinaryIO

from platformdirs import user_cache_path

from routing.errors import RoadError
from routing.farm.faults import quoted
from routing.farm.on_disk import as_named
from routing.farm.plain_files import open_plain

_DIGEST = 64
"""Hexadecimal digits before the content, and a line feed after them."""

_FULL = frozenset({errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC)})


class DamagedError(ValueError):
    """A kept file is not what was written."""


def cache_folder(of: str = "roads") -> Path:
    """Return where builds and matrices are kept, as an absolute path: no part of it is ever taken for an address.

    `of` names what else is kept there, in a folder of its own.
    """
    return as_named(user_cache_path("outyard", appauthor=False) / of)


def read_kept[Value](path: Path, purpose: str, read: Callable[[BinaryIO], Value]) -> Value | None:
    """Return what `read` makes of a kept file, None where there is none. Raises DamagedError where it is not whole."""
    try:
        with open_plain(path) as file:
            told = file.read(_DIGEST + 1)
            if told != _digest(file, purpose):
                raise DamagedError(path.name)
            file.seek(_DIGEST + 1)
            return read(file)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise DamagedError(path.name) from error


def write_kept(path: Path, purpose: str, write: Callable[[IO[bytes]], object]) -> None:
    """Write a file whole or not at all, flushed to the disk. Raises OSError."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(dir=path.parent, prefix=".kept-", delete=False) as file:
        try:
            file.write(b" " * (_DIGEST + 1))
            write(file)
            file.flush()
            file.seek(_DIGEST + 1)
            digest = _digest(file, purpose)
            file.seek(0)
            file.write(digest)
            file.flush()
            os.fsync(file.fileno())
            file.close()
            Path(file.name).replace(path)
        except BaseException:
            file.close()
            Path(file.name).unlink(missing_ok=True)
            raise
    flush_folder(path.parent)


def flush(folder: Path) -> None:
    """Flush all files of a folder, and the folders in it, to the disk. Raises OSError."""
    for where, _, names in os.walk(folder):
        for name in names:
            with (Path(where) / name).open("rb+") as file:
                os.fsync(file.fileno())
        flush_folder(Path(where))


def flush_folder(folder: Path) -> None:
    """Flush the names in a folder to the disk, where the system can. Raises OSError."""
    if os.name == "nt":
        return  # a folder cannot be opened there
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def full_disk() -> OSError:
    """Return what the system raises where a disk is full, for a library or program that does not say so."""
    return OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def not_kept(what: str, folder: Path, error: OSError) -> RoadError:
    """Return what to raise where `what` could not be written: a full disk is called one, and nothing else is."""
    where = quoted(str(folder), longest=1000)
    if error.errno in _FULL:
        return RoadError(f"{what} in {where}: the disk is full; free some space")
    return RoadError(f"{what} in {where}: {error.strerror or error}; allow writing there")


def tell_damage(what: str) -> None:
    """Say on standard error, as any other warning, that something kept was damaged and is made anew."""
    logging.getLogger(__name__).warning("warning: %s in the cache was damaged: it is made anew", what)


def _digest(file: BinaryIO | IO[bytes], purpose: str) -> bytes:
    """Return the digest line of what stands from here to the end."""
    found = hashlib.sha256(purpose.encode() + b"\0")
    while part := file.read(1 << 20):
        found.update(part)
    return found.hexdigest().encode() + b"\n"
