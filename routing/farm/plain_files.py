"""Opening what should be a plain file on a disk: nothing that waits, never ends or is made up while it is read.

A pipe with nobody at its other end would hold the program for ever, and some devices never end. Systems also show files
that they make up while they are read, such as those under /proc: their size is told as 0, and some of them never end.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Mapping
from io import BufferedReader
from pathlib import Path
from types import MappingProxyType

type Instead = Mapping[Path, bytes]
"""What is to be read in place of files, so that a change can be judged before it is written."""
NOTHING: Instead = MappingProxyType({})

_KINDS = (
    (stat.S_ISDIR, "a folder"),
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
    (stat.S_ISSOCK, "a socket"),
)


class NotPlainError(OSError):
    """What stands at a path is no plain file; `strerror` says what it is, to stand after `cannot be read:`."""

    def __init__(self, what: str) -> None:
        super().__init__(None, f"it is {what}, not a plain file")


def open_plain(path: Path) -> BufferedReader:
    """Open a plain file for reading. Raises NotPlainError for anything else, OSError where it cannot be opened.

    Looked at before it is opened, since opening some devices does something, and again when it is open.
    """
    try:
        _require_plain(os.stat(path).st_mode)  # noqa: PTH116 - never follows a loop for ever, and raises OSError alone
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except ValueError as error:  # a NUL in the name
        raise NotPlainError("a name that no file can have") from error
    try:
        told = os.fstat(handle)
        _require_plain(told.st_mode)
        if told.st_size == 0:
            _require_empty(os.read(handle, 1))
        return os.fdopen(handle, "rb")
    except BaseException:
        os.close(handle)
        raise


def read_plain(path: Path, most_bytes: int, instead: Instead = NOTHING) -> bytes:
    """Return the bytes of a plain file, one more than `most_bytes` at most. Raises as `open_plain` does."""
    if path in instead:
        return instead[path][: most_bytes + 1]
    with open_plain(path) as file:
        return file.read(most_bytes + 1)


def _require_empty(read: bytes) -> None:
    if read:
        raise NotPlainError("made up by the system while it is read")


def _require_plain(mode: int) -> None:
    if not stat.S_ISREG(mode):
        raise NotPlainError(next((what for is_one, what in _KINDS if is_one(mode)), "something else"))
