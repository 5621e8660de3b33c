"""Which version of a farm's files there is."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path


def version_of(folder: Path) -> str:
    """Return what changes when a file directly in a folder does: its name, size, time or place on disk.

    Raises OSError.
    """
    found = []
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.is_file():
                stat = entry.stat()
                found.append((entry.name, stat.st_size, stat.st_mtime_ns, stat.st_ino))
    return hashlib.sha256(repr(sorted(found)).encode("utf-8", "surrogatepass")).hexdigest()
