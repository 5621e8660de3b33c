"""What `outyard share` does: plan or read a round, make the files asked for, write them whole or not at all."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import typer

from routing.cli.farms import farm_of
from routing.cli.options import Folder, Nicknames, On, Replace, WithPrivate, date_of
from routing.cli.road_bar import ready_roads
from routing.cli.share_passphrase import given_passphrase, known_names
from routing.cli.telling import tell_paths, told_plainly
from routing.errors import AskedError
from routing.farm.inert import inert
from routing.farm.models import Farm
from routing.farm.plain_files import read_plain
from routing.farm.texts import MOST_BYTES
from routing.output.places import Ground, may_be_filled, may_be_written
from routing.output.single import write_files
from routing.round import Round
from routing.share.exports.csv_table import round_csv
from routing.share.exports.geojson import round_geojson
from routing.share.exports.gpx import round_gpx
from routing.share.exports.ical import round_calendar
from routing.share.exports.workbook import round_workbook
from routing.share.safety.private import share as shared_of
from routing.share.wording.visits import PrivateLines, private_lines
from routing.stages import day as pipeline
from routing.stages import write

commands = typer.Typer(rich_markup_mode=None)


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


@commands.command()
def share(
    folder: Folder,
    on: On = "tomorrow",
    saved: Annotated[
        Path | None, typer.Option("--round", help="A saved round.json to share, instead of planning --on a date.")
    ] = None,
    gpx: Annotated[
        Path | None, typer.Option("--gpx", help="Write places, route and track as GPX to this file.")
    ] = None,
    ical: Annotated[Path | None, typer.Option("--ical", help="Write the visits as a calendar to this file.")] = None,
    geojson: Annotated[Path | None, typer.Option("--geojson", help="Write the map as GeoJSON to this file.")] = None,
    csv: Annotated[
        Path | None, typer.Option("--csv", help="Write a table for a spreadsheet, in your country's way, to this file.")
    ] = None,
    xlsx: Annotated[
        Path | None, typer.Option("--xlsx", help="Write the round as a workbook, a sheet a crew, to this file.")
    ] = None,
    lock: Annotated[
        bool, typer.Option("--lock", help="Write pages that open only with a passphrase, which is asked for.")
    ] = False,
    with_private: WithPrivate = False,
    nicknames: Nicknames = False,
    out: Annotated[
        Path | None, typer.Option("--out", help="Where to write pages. Default: rounds/DATE in the farm folder.")
    ] = None,
    only_locked: Annotated[
        bool, typer.Option("--only-locked", help="With --lock: remove pages there that open without a passphrase.")
    ] = False,
    replace: Replace = False,
) -> None:
    """Give a checked round away: positions leave the farm folder only in the files that are asked for here."""
    with told_plainly():
        farm = ready_roads(farm_of(folder))
        wanted = Wanted(
            {"gpx": gpx, "ical": ical, "geojson": geojson, "csv": csv, "xlsx": xlsx},
            lock=lock,
            with_private=with_private,
            nicknames=nicknames,
            out=out,
            only_locked=only_locked,
            replace=replace,
        )
        tell_paths(share_round(farm, saved or date_of(on, farm), wanted))


def share_round(farm: Farm, source: Path | dt.date, wanted: Wanted) -> tuple[Path, ...]:
    """Write what is wanted of the round saved at `source`, or planned for that date, and return the files.

    Each folder's files are written whole or not at all. Raises AskedError where nothing is asked for, two files are
    one, or output may not go to a place, and WriteError.
    """
    files = {kind: path for kind, path in wanted.files.items() if path is not None}
    if not files and not wanted.lock:
        raise AskedError("nothing to share: name --gpx, --ical, --geojson, --csv or --xlsx with a file, or --lock")
    ground = write.ground(farm, replace=wanted.replace, reads=(source,) if isinstance(source, Path) else ())
    _refuse_what_would_be_lost(files, wanted, ground)
    passphrase = given_passphrase(known_names(farm)) if wanted.lock else ""
    round_ = _round(farm, source)
    shared = shared_of(round_, farm, with_private=wanted.with_private, nicknames=wanted.nicknames)
    lines = private_lines(shared.private)
    exported = {path: _exported(kind, shared.round, lines, path) for kind, path in files.items()}
    options = {path: f"--{kind}" for kind, path in files.items()}
    if not wanted.lock:
        return write_files(exported, ground, options=options, private=wanted.with_private)
    from routing.cli.logged import note_round  # noqa: PLC0415 - a database, only where pages go out
    from routing.cli.share_locked import locked_pages, write_locked  # noqa: PLC0415 - and the libraries of the map

    folder = wanted.out or farm.folder / "rounds" / shared.round.dates[0].isoformat()
    locked = locked_pages(shared, passphrase)
    if locked:
        may_be_filled(folder, locked, ground, "--out" if wanted.out else "")
        note_round(farm, round_, shared.round)
    written = write_files(exported, ground, options=options, private=wanted.with_private)
    if locked:
        for path in files.values():
            _tell(f"note: {path} is not locked")
        written += write_locked(locked, folder, ground, only_locked=wanted.only_locked)
    return written


def _round(farm: Farm, source: Path | dt.date) -> Round:
    if isinstance(source, dt.date):
        return pipeline.plan(farm, source)
    try:
        text = read_plain(source, MOST_BYTES).decode()
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise AskedError(f"the saved round {source} cannot be read: {why}") from error
    if len(text.encode()) > MOST_BYTES:
        raise AskedError(f"{source} is larger than {MOST_BYTES // 1_000_000} million bytes: is it a saved round?")
    return pipeline.saved(farm, text)


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


def _refuse_what_would_be_lost(files: Mapping[str, Path], wanted: Wanted, ground: Ground) -> None:
    """Raise AskedError where two outputs are one file, or output may not go to a place: before anything is planned."""
    for kind, path in files.items():
        may_be_written(path, ground, f"--{kind}")
    places = [path.resolve() for path in files.values()]
    if len(set(places)) < len(places):
        raise AskedError("two of the files to write are the same; give each its own name")
    if wanted.lock and wanted.out is not None:
        may_be_filled(wanted.out, (), ground, "--out")


def _tell(text: str) -> None:
    sys.stderr.write(f"{inert(text)}\n")
