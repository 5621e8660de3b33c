"""What this program wrote for a farm: a line for each file, by which it tells its own files from the farmer's.

A line is the SHA-256 of the content and the place, which is relative to the farm folder inside it and absolute outside,
so that a farm folder may be moved. A file counts as ours where both fit: a file that was changed since is the farmer's.
Lines are written before the files, so that a kill between the two leaves no file of ours unknown.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
from collections.abc import Mapping
from pathlib import Path

FILE = ".written"
PLANNED = ".planned"
"""The list of what rounds were planned from, which stands beside."""
ABOUT = "# What outyard wrote for this farm: SHA-256 and place of each file, by which it knows its own from yours."
MOST_BYTES = 1_000_000
"""About 9,000 lines; where there are more, the older half is forgotten, and replacing those files asks again."""


CANNOT_BE_KEPT = {errno.EACCES, errno.EPERM, errno.EROFS, errno.ELOOP, errno.EISDIR, errno.ENXIO}
"""A farm folder that is read only, or something else in the list's place."""


class Ledger:
    """The list of what was written for one farm; without a farm it knows nothing and notes nothing."""

    def __init__(self, farm: Path | None) -> None:
        """`farm` is the farm folder."""
        self._farm = farm.resolve() if farm is not None else None
        self._seen: tuple[int, int, int] | None = None
        self._lines: dict[str, None] = {}

    def knows(self, path: Path) -> bool:
        """Return whether the file that stands there is one that this program wrote, as it wrote it."""
        self._look()
        place = self._place(path)
        return any(line.endswith(place) for line in self._lines) and f"{digest(path)}  {place}" in self._lines

    def note(self, digests: Mapping[Path, str]) -> bool:
        """Add what is about to be written, and return whether it could be.

        Where the farm folder cannot be written to, the files are written all the same. Raises OSError for anything
        else, such as a full disk.
        """
        if self._farm is None:
            return False
        self._look()
        new = [
            line for path, sha256 in digests.items() if (line := f"{sha256}  {self._place(path)}") not in self._lines
        ]
        try:
            if new:
                self._append(self._farm / FILE, new)
        except OSError as error:
            if error.errno in CANNOT_BE_KEPT:
                return False
            raise
        self._lines = {**self._lines, **dict.fromkeys(new)}
        return True

    def _append(self, file: Path, new: list[str]) -> None:
        if self._lines and sum(len(line) + 1 for line in self._lines) > MOST_BYTES:
            kept = list(self._lines)[len(self._lines) // 2 :]
            self._lines = dict.fromkeys(kept)
            part = file.with_name(f".outyard-part-{os.urandom(4).hex()}")
            _add(part, ABOUT + "".join(f"\n{line}" for line in kept))
            part.replace(file)
        # each line begins with its line end, so that one which a kill cut short spoils no other
        _add(file, ("" if file.exists() else ABOUT) + "".join(f"\n{line}" for line in new))

    def _place(self, path: Path) -> str:
        real = path.parent.resolve() / path.name
        if self._farm is not None and real.is_relative_to(self._farm):
            real = real.relative_to(self._farm)
        return json.dumps(real.as_posix())

    def _look(self) -> None:
        """Read the list where it is not the one that was read last: another run may have added to it."""
        if self._farm is None:
            return
        try:
            with os.fdopen(os.open(self._farm / FILE, os.O_RDONLY | _NO_LINK), "rb") as file:
                facts = os.fstat(file.fileno())
                seen = (facts.st_ino, facts.st_size, facts.st_mtime_ns)
                if seen == self._seen:
                    return
                text = file.read(4 * MOST_BYTES).decode("ascii", errors="replace")
        except OSError:
            return
        self._seen = seen
        self._lines = dict.fromkeys(line for line in text.splitlines() if not line.startswith("#"))


def digest(path: Path) -> str:
    """Return the SHA-256 of a plain file in hexadecimal, an empty text where none can be read there."""
    try:
        if not path.is_file() or path.is_symlink():
            return ""
        with os.fdopen(os.open(path, os.O_RDONLY | _NO_LINK), "rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return ""


_NO_LINK = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)


def _add(file: Path, text: str) -> None:
    flags = os.O_WRONLY | os.O_APPEND | os.O_CREAT | _NO_LINK
    with os.fdopen(os.open(file, flags, 0o600), "ab") as opened:
        opened.write(text.encode("ascii"))
        opened.flush()
        os.fsync(opened.fileno())
