"""What stands at a path, asked so that no name, loop of links or denied folder ever raises."""

from __future__ import annotations

import os
from pathlib import Path


def is_folder(path: Path) -> bool:
    """Return whether a folder stands there, by way of links too; False where that cannot be known."""
    try:
        return path.is_dir()
    except (OSError, ValueError):
        return False


def is_there(path: Path) -> bool:
    """Return whether anything stands there, by way of links too; False where that cannot be known."""
    try:
        return path.exists()
    except (OSError, ValueError):
        return False


def is_link(path: Path) -> bool:
    """Return whether a link stands there; False where that cannot be known."""
    try:
        return path.is_symlink()
    except (OSError, ValueError):
        return False


def as_named(path: Path) -> Path:
    """Return the path from the root as it is named, without `..`; links stay links, unlike with `Path.resolve`."""
    return Path(os.path.normpath(path.absolute()))
