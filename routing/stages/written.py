"""Rounds that stand written in the farm's folder: where they are and what is in them, without planner or map."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from routing.errors import AskedError
from routing.farm.folder import FILES
from routing.farm.models import Farm
from routing.farm.plain_files import read_plain
from routing.output.ledger import Ledger
from routing.round import Round
from routing.season.log_file import FILE as LOG
from routing.share.exports.files import LARGEST_ROUND_BYTES, read_round
from routing.share.pages.file_names import PLAIN

ROUNDS = "rounds"
"""The folder of all rounds in a farm's folder."""
SENT = "sent"
"""The folder of files that were made to be sent, in a farm's folder."""
MOST_LISTED = 5000


def folder_of(farm: Farm, dates: Sequence[dt.date]) -> Path:
    """Return the folder that a round of these dates, in order, is written into where none is asked for."""
    return farm.folder / ROUNDS / _name_of(dates)


def _name_of(dates: Sequence[dt.date]) -> str:
    return dates[0].isoformat() if len(dates) == 1 else f"{dates[0].isoformat()} to {dates[-1].isoformat()}"


def written_plan(farm: Farm, date: dt.date, last: dt.date | None = None) -> Round | None:
    """Return the round of that date alone, or of several to a last one, that stands in the farm's folder.

    None where none that can be read does.
    """
    dates = _ends(date, last)
    try:
        found = read_round(folder_of(farm, dates) / PLAIN[0])
    except AskedError:
        return None
    return found if found.dates and _ends(found.dates[0], found.dates[-1]) == dates else None


def _ends(first: dt.date, last: dt.date | None) -> tuple[dt.date, ...]:
    return (first,) if last is None or last == first else (first, last)


def written_dates(farm: Farm) -> tuple[tuple[dt.date, dt.date], ...]:
    """Return the first and the last date of each round that stands in the farm's folder, the last begun first."""
    found = []
    with suppress(OSError), os.scandir(farm.folder / ROUNDS) as entries:
        for entry, _ in zip(entries, range(MOST_LISTED), strict=False):
            with suppress(ValueError):
                first, _, last = entry.name.partition(" to ")
                dates = _ends(dt.date.fromisoformat(first), dt.date.fromisoformat(last or first))
                if (
                    dates[0] <= dates[-1]
                    and folder_of(farm, dates).name == entry.name
                    and (Path(entry.path) / PLAIN[0]).is_file()
                ):
                    found.append((dates[0], dates[-1]))
    return tuple(sorted(found, reverse=True))


def written_near(farm: Farm, first: dt.date, last: dt.date) -> tuple[tuple[dt.date, dt.date], ...]:
    """Return what `written_dates` does, first those that begin on the first day asked, then with any of them."""

    def far(dates: tuple[dt.date, dt.date]) -> int:
        return 0 if dates[0] == first else 1 if dates[0] <= last and dates[1] >= first else 2

    return tuple(sorted(written_dates(farm), key=far))


def has_rounds(folder: Path) -> bool:
    """Return whether any round was written into a farm folder."""
    return (folder / ROUNDS).is_dir()


def changed_since(farm: Farm, date: dt.date, last: dt.date | None = None) -> tuple[str, ...]:
    """Return the names of the farm's files, its log among them, that were changed after a round was written."""
    try:
        written = (folder_of(farm, _ends(date, last)) / PLAIN[0]).stat().st_mtime_ns
    except OSError:
        return ()
    names = dict.fromkeys((*FILES, farm.tables.sites, farm.tables.jobs, LOG))
    return tuple(name for name in names if _changed_at(farm.folder / name) > written)


def written_map(farm: Farm, date: dt.date, last: dt.date | None = None) -> str | None:
    """Return the map page of the round that stands in the farm's folder, as this program wrote it and nobody else."""
    path = folder_of(farm, _ends(date, last)) / PLAIN[3]
    if not Ledger(farm.folder).knows(path):
        return None
    try:
        return read_plain(path, LARGEST_ROUND_BYTES).decode()
    except (OSError, UnicodeDecodeError):
        return None


def sent_folder(farm: Farm, date: dt.date, last: dt.date | None = None) -> Path:
    """Return the folder that files of a round of a day, or of several to a last one, go into, to be sent from it."""
    return farm.folder / SENT / _name_of(_ends(date, last))


def files_to_send(farm: Farm, date: dt.date, last: dt.date | None = None) -> dict[str, Path]:
    """Return what may be sent of a round, by file name: each as this program wrote it, and nobody else.

    The saved round itself is not among them.
    """
    ledger = Ledger(farm.folder)
    found: dict[str, Path] = {}
    for folder in (folder_of(farm, _ends(date, last)), sent_folder(farm, date, last)):
        with suppress(OSError):
            names = sorted(entry.name for entry in os.scandir(folder) if entry.is_file(follow_symlinks=False))
            found |= {name: folder / name for name in names if name != PLAIN[0] and ledger.knows(folder / name)}
    return found


def _changed_at(path: Path) -> int:
    try:
        return path.stat().st_mtime_ns
    except OSError:
        return 0
