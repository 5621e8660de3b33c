"""The log of a farm folder as a file: its name, and whether there is one; this module brings no database along."""

from __future__ import annotations

from pathlib import Path

from routing.farm.on_disk import is_there

FILE = "log.sqlite"
"""In the farm folder."""


def has_log(folder: Path) -> bool:
    """Return whether the farm folder has a log."""
    return is_there(folder / FILE)
