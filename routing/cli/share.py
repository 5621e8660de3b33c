"""What `outyard share` does: plan or read a round, make the files asked for, write them whole or not at all."""

from __future__ import annotations

import datetime as dt
import getpass
import os
import sys
import warnings
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from routing.cli.options import note_round
from routing.cli.share_locked import write_locked
from routing.errors import AskedError
from routing.farm.inert import inert
from routing.farm.models import Farm
from routing.farm.plain_files import read_plain
from routing.farm.texts import MOST_BYTES
from routing.output.places import Ground, may_be_filled, may_be_written
from routing.output.single import write_files
from routing.round import Round
from routing.share.pages.file_names import locked_page
from routing.share.safety.private import Shared, share
from routing.share.wording.visits import PrivateLines, private_lines
from routing.stages import day as pipeline

PASSPHRASE_VARIABLE = "OUTYARD_PASSPHRASE"  # noqa: S105 -- the name of a variable, not a passphrase


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


def share_round(farm: Farm, source: Path | dt.date, wanted: Wanted) -> tuple[Path, ...]:
    """Write what is wanted of the round saved at `source`, or planned for that date, and return the files.

    Each folder's files are written whole or not at all. Raises AskedError where nothing is asked for, two files are
    one, or output may not go to a place, and WriteError.
    """
    files = {kind: path for kind, path in wanted.files.items() if path is not None}
    if not files and not wanted.lock:
        raise AskedError("nothing to share: name --gpx, --ical, --geojson, --csv or --xlsx with a file, or --lock")
    ground = pipeline.ground(farm, replace=wanted.replace, reads=(source,) if isinstance(source, Path) else ())
    _refuse_what_would_be_lost(files, wanted, ground)
    passphrase = _passphrase(_names(farm)) if wanted.lock else ""
    round_ = _round(farm, source)
    shared = share(round_, farm, with_private=wanted.with_private, nicknames=wanted.nicknames)
    lines = private_lines(shared.private)
    exported = {path: _exported(kind, shared.round, lines, path) for kind, path in files.items()}
    options = {path: f"--{kind}" for kind, path in files.items()}
    folder = wanted.out or farm.folder / "rounds" / shared.round.dates[0].isoformat()
    locked = _locked(_pages(shared), passphrase) if wanted.lock else {}
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
        from routing.share.exports.gpx import round_gpx  # noqa: PLC0415 -- each library only where it is asked for

        return round_gpx(round_, private)
    if kind == "ical":
        from routing.share.exports.ical import round_calendar  # noqa: PLC0415

        return round_calendar(round_, private, _previous(path))
    if kind == "geojson":
        from routing.share.exports.geojson import round_geojson  # noqa: PLC0415

        return round_geojson(round_, private)
    if kind == "xlsx":
        from routing.share.exports.workbook import round_workbook  # noqa: PLC0415

        return round_workbook(round_, private)
    from routing.share.exports.csv_table import round_csv  # noqa: PLC0415

    return round_csv(round_, private)


def _previous(path: Path) -> str:
    """Return the text of the calendar that is about to be replaced, or an empty one where there is none to read."""
    try:
        return read_plain(path, MOST_BYTES)[:MOST_BYTES].decode()
    except (OSError, UnicodeDecodeError):
        return ""


def _pages(shared: Shared) -> tuple[str, ...]:
    """Return the pages that are to be locked, one for each crew and day."""
    from routing.share.pages.helper_page import helper_pages  # noqa: PLC0415

    return tuple(helper_pages(shared.round, shared.private).values())


def _locked(pages: Sequence[str], passphrase: str) -> dict[str, str]:
    """Return the pages, locked, by file names that tell nothing."""
    from routing.share.pages.locked import lock_page  # noqa: PLC0415

    return {locked_page(number): lock_page(page, passphrase) for number, page in enumerate(pages, start=1)}


def _refuse_what_would_be_lost(files: Mapping[str, Path], wanted: Wanted, ground: Ground) -> None:
    """Raise AskedError where two outputs are one file, or output may not go to a place: before anything is planned."""
    for kind, path in files.items():
        may_be_written(path, ground, f"--{kind}")
    places = [path.resolve() for path in files.values()]
    if len(set(places)) < len(places):
        raise AskedError("two of the files to write are the same; give each its own name")
    if wanted.lock and wanted.out is not None:
        may_be_filled(wanted.out, (), ground, "--out")


def _names(farm: Farm) -> tuple[str, ...]:
    """Return the names of the farm, which whoever knows it tries first."""
    sites = (name for site in farm.sites for name in (site.id, site.name))
    return (farm.name, farm.base.name, *(crew.name for crew in farm.crews), *sites)


def _passphrase(known: tuple[str, ...] = ()) -> str:
    """Return a passphrase that may be used: from the environment, standard input or, unseen and twice, the keyboard.

    Never from the command line, where other users of the computer and the shell's history would see it. `known` are
    words that make it no stronger.
    """
    from routing.share.safety.passphrase import normal_passphrase, passphrase_advice, sound_passphrase  # noqa: PLC0415

    given = os.environ.get(PASSPHRASE_VARIABLE, "")
    if given:
        passphrase = sound_passphrase(given, known)
    elif not sys.stdin.isatty():
        passphrase = sound_passphrase(_piped(), known)
    else:
        passphrase = sound_passphrase(_typed("Passphrase (it cannot be recovered if forgotten): "), known)
        if normal_passphrase(_typed("The same again: ")) != passphrase:
            raise AskedError("the two passphrases differ; nothing was written")
    if advice := passphrase_advice(passphrase, known):
        _tell(f"warning: {advice}")
    return passphrase


def _piped() -> str:
    from routing.share.safety.passphrase import LONGEST  # noqa: PLC0415

    try:
        return sys.stdin.readline(2 * LONGEST).rstrip("\r\n")  # more than may be, so that a longer one is noticed
    except UnicodeDecodeError as error:
        raise AskedError("the passphrase on standard input is not text in the encoding of this computer") from error


def _typed(prompt: str) -> str:
    with warnings.catch_warnings():
        warnings.simplefilter("error", getpass.GetPassWarning)
        try:
            return getpass.getpass(prompt)
        except (getpass.GetPassWarning, EOFError) as error:
            raise AskedError(
                f"this terminal cannot take a passphrase unseen; set {PASSPHRASE_VARIABLE} or pipe it in"
            ) from error


def _tell(text: str) -> None:
    sys.stderr.write(f"{inert(text)}\n")
