"""A checked round given away: the files that are asked for, each folder's whole or not at all."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, replace
from pathlib import Path

from routing.errors import AskedError, WriteError
from routing.farm.models import Farm
from routing.farm.plain_files import read_plain
from routing.farm.texts import MOST_BYTES
from routing.output.places import Ground, may_be_filled, may_be_written
from routing.output.single import write_files
from routing.output.whole import fill_folder
from routing.round import Round
from routing.share.exports.csv_table import round_csv
from routing.share.exports.geojson import round_geojson
from routing.share.exports.gpx import round_gpx
from routing.share.exports.ical import round_calendar
from routing.share.exports.workbook import round_workbook
from routing.share.pages.file_names import is_locked_page, is_open_page, locked_page
from routing.share.pages.helper_page import helper_pages
from routing.share.pages.locked import lock_page
from routing.share.safety.private import Shared
from routing.share.safety.private import share as shared_of
from routing.share.wording.visits import PrivateLines, private_lines
from routing.stages.plan import planned, saved
from routing.stages.reports import remember_round
from routing.stages.write import ground
from routing.stages.written import folder_of


@dataclass(frozen=True)
class Wanted:
    """What the farmer asked to be written; `files` has a path or None for each of gpx, ical, geojson, csv and xlsx."""

    files: Mapping[str, Path | None]
    lock: bool = False
    with_private: bool = False
    nicknames: bool = False
    out: Path | None = None
    only_locked: bool = False
    replace: bool = False


@dataclass(frozen=True)
class Given:
    """What was given away, and what must be known of it."""

    paths: tuple[Path, ...]
    forgotten: str = ""
    """Why the farm does not remember that this round went out; empty where it does, or no pages did."""
    not_locked: tuple[Path, ...] = ()
    """The files beside locked pages."""
    locked_in: Path | None = None
    removed: tuple[str, ...] = ()
    """Open pages that went."""
    open_beside: tuple[str, ...] = ()
    """Pages beside the locked ones that open without a passphrase."""
    again: bool = False
    """Whether the round of a date is the one that was written, which still holds, and was not searched for."""
    wished_gone: bool = False
    """Whether those were to go, and stay because they were changed since they were written."""


def known_names(farm: Farm) -> tuple[str, ...]:
    """Return the names of the farm, which whoever knows it tries first."""
    sites = (name for site in farm.sites for name in (site.id, site.name))
    return (farm.name, farm.base.name, *(crew.name for crew in farm.crews), *sites)


def share_round(
    farm: Farm,
    source: Path | dt.date,
    wanted: Wanted,
    *,
    passphrase: Callable[[], str],
    agreed: Callable[[Sequence[str], Path], bool] = lambda _pages, _folder: False,
    searching: Callable[[], AbstractContextManager[object]] = nullcontext,
) -> Given:
    """Write what is wanted of the round saved at `source`, or planned for that date, `searching` entered meanwhile.

    `passphrase` is asked once, before anything is planned, and only where pages are locked; `agreed` whether open pages
    beside them may go. Each folder's files are written whole or not at all. Raises AskedError where nothing is asked
    for, two files are one, or output may not go to a place; WriteError; and what planning raises.
    """
    files = {kind: path for kind, path in wanted.files.items() if path is not None}
    if not files and not wanted.lock:
        raise AskedError("nothing to share: name --gpx, --ical, --geojson, --csv or --xlsx with a file, or --lock")
    where = ground(farm, replace=wanted.replace, reads=(source,) if isinstance(source, Path) else ())
    _refuse_what_would_be_lost(files, wanted, where)
    secret = passphrase() if wanted.lock else ""
    with searching():
        round_, again = _round(farm, source)
    shared = shared_of(round_, farm, with_private=wanted.with_private, nicknames=wanted.nicknames)
    lines = private_lines(shared.private)
    exported = {path: _exported(kind, shared.round, lines, path) for kind, path in files.items()}
    options = {path: f"--{kind}" for kind, path in files.items()}
    locked = _locked_pages(shared, secret) if wanted.lock else {}
    folder = wanted.out or folder_of(farm, shared.round.dates)
    forgotten = ""
    if locked:
        may_be_filled(folder, locked, where, "--out" if wanted.out else "")
        forgotten = _remembered(farm, round_, shared.round)
    written = write_files(exported, where, options=options, private=wanted.with_private)
    given = Given(written, forgotten, again=again)
    if not locked:
        return given
    return replace(_lock(given, locked, folder, where, wanted, agreed), not_locked=tuple(files.values()))


def _remembered(farm: Farm, round_: Round, shown: Round) -> str:
    """Write down that a round goes out, and return why that could not be, if so."""
    try:
        remember_round(farm, round_, shown)
    except WriteError as error:
        return str(error)
    return ""


def _round(farm: Farm, source: Path | dt.date) -> tuple[Round, bool]:
    """Return the round, and whether it is one of a date that was not searched for."""
    if isinstance(source, dt.date):
        found = planned(farm, source, timed=True)
        return found.round, found.again
    try:
        text = read_plain(source, MOST_BYTES).decode()
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise AskedError(f"the saved round {source} cannot be read: {why}") from error
    if len(text.encode()) > MOST_BYTES:
        raise AskedError(f"{source} is larger than {MOST_BYTES // 1_000_000} million bytes: is it a saved round?")
    return saved(farm, text), False


def _exported(kind: str, round_: Round, private: PrivateLines, path: Path) -> str | bytes:
    if kind == "gpx":
        return round_gpx(round_, private)
    if kind == "ical":
        return round_calendar(round_, private, _previous(path))
    if kind == "xlsx":
        return round_workbook(round_, private)
    return round_geojson(round_, private) if kind == "geojson" else round_csv(round_, private)


def _previous(path: Path) -> str:
    """Return the text of the calendar that is about to be replaced, or an empty one where there is none to read."""
    try:
        return read_plain(path, MOST_BYTES)[:MOST_BYTES].decode()
    except (OSError, UnicodeDecodeError):
        return ""


def _refuse_what_would_be_lost(files: Mapping[str, Path], wanted: Wanted, where: Ground) -> None:
    """Raise AskedError where two outputs are one file, or output may not go to a place: before anything is planned."""
    for kind, path in files.items():
        may_be_written(path, where, f"--{kind}")
    places = [path.resolve() for path in files.values()]
    if len(set(places)) < len(places):
        raise AskedError("two of the files to write are the same; give each its own name")
    if wanted.lock and wanted.out is not None:
        may_be_filled(wanted.out, (), where, "--out")


def _locked_pages(shared: Shared, passphrase: str) -> dict[str, str]:
    """Return the pages of the round, one for each crew and day, locked, by file names that tell nothing."""
    pages = helper_pages(shared.round, shared.private).values()
    return {locked_page(number): lock_page(page, passphrase) for number, page in enumerate(pages, start=1)}


def _lock(
    given: Given,
    pages: Mapping[str, str],
    folder: Path,
    where: Ground,
    wanted: Wanted,
    agreed: Callable[[Sequence[str], Path], bool],
) -> Given:
    """Write locked pages; pages beside them that need no passphrase go where that is wanted or agreed to.

    `round.json` stays, to share from again, and so does a page that was changed since it was written.
    """
    beside = _open_pages(folder)
    gone = bool(beside) and (wanted.only_locked or agreed(beside, folder))

    def stale(name: str) -> bool:
        return is_locked_page(name) or (gone and is_open_page(name))

    filled = fill_folder(pages, folder, where, stale=stale)
    return replace(
        given,
        paths=given.paths + filled.paths,
        locked_in=folder,
        removed=tuple(name for name in filled.removed if is_open_page(name)),
        open_beside=tuple(_open_pages(folder)),
        wished_gone=gone,
    )


def _open_pages(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if is_open_page(path.name)) if folder.is_dir() else []
