"""What was done, written down by hand into the farm's log, read again and undone."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from routing import season
from routing.errors import AskedError
from routing.season.log_file import has_log

if TYPE_CHECKING:
    from routing.farm.models import Farm
    from routing.season.entries import Cancellation, Entry, Record


def new_entries(farm: Farm, site: str, given: Mapping[str, object]) -> tuple[Entry, ...]:
    """Return the entry for a site, or one for each where the site is `all`, from values as they were typed.

    Nothing is written. Raises AskedError.
    """
    return season.checked.new_entries(farm, _today(farm), site, given)


def write_down(farm: Farm, entries: Sequence[Entry], begins: dt.date | None) -> tuple[str, ...]:
    """Write entries into the log, and return what to beware of after them.

    `begins` is from when a log that is begun now counts, None where there is one. Raises LogError.
    """
    log = season.log.Log.open(farm.folder)
    if begins is not None:
        log.begin(begins)
    log.add_all(entries)
    return season.checked.entry_cautions(farm, entries)


def begin(farm: Farm, counts_from: dt.date) -> None:
    """Say from when the log is complete. Raises LogError."""
    season.log.Log.open(farm.folder).begin(counts_from)


def undo(farm: Farm) -> tuple[Entry | Cancellation, ...]:
    """Undo what was written last, all of it, and return it. Raises AskedError where there is no log, and LogError."""
    if not has_log(farm.folder):
        raise AskedError("there is no log yet: there is nothing to undo")
    return season.log.Log.open(farm.folder).undo()


def record_of(farm: Farm) -> Record:
    """Return the log, empty where there is none. Raises LogError."""
    return season.log.Log.record_of(farm.folder) if has_log(farm.folder) else season.entries.Record()


def _today(farm: Farm) -> dt.date:
    return dt.datetime.now(ZoneInfo(farm.time_zone)).date()
