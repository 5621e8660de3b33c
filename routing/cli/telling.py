"""What every command says, and how: safe on any screen, errors in one line each with the fitting exit code."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import typer
from rich.console import Console

from routing.errors import CheckFailed, FarmError, OutyardError
from routing.farm.inert import inert, inert_json

if TYPE_CHECKING:
    from routing.output.whole import Filled
    from routing.season.entries import SetAside

YES, NO, BAD_INPUT, OUR_FAULT = 0, 1, 2, 3

MOST_TOLD = 20
"""So many rows of a log that are set aside are told one by one."""


def say(text: object, *, err: bool = False) -> None:
    """Print lines, on standard error where `err` says so, with nothing in them that acts on a screen."""
    _forgive(sys.stderr if err else sys.stdout)
    typer.echo(inert(str(text)), err=err)


def say_json(text: str) -> None:
    """Print a JSON document that means the same on any screen, and in whatever encoding is expected here."""
    shown = inert_json(text)
    try:
        shown.encode(sys.stdout.encoding or "utf-8")
    except UnicodeEncodeError:
        shown = json.dumps(json.loads(text), indent=1) + "\n"
    sys.stdout.write(shown)


def console() -> Console:
    """Return where results are printed."""
    _forgive(sys.stdout)
    return Console(highlight=False)


def tell_paths(paths: Iterable[Path], before: str = "") -> None:
    """Say what was written, a line each, safe on any screen."""
    for path in paths:
        say(f"{before}{path}")


def tell_again(*, again: bool) -> None:
    """Say on standard error, where it is so, that a round was not searched for again."""
    if again:
        say("Not searched for again: all that the written round rests on is as it was.", err=True)


def tell_forgotten(forgotten: str) -> None:
    """Say on standard error what could not be written down of a round that goes out, if there is anything."""
    if forgotten:
        say(f"warning: {forgotten}", err=True)


def tell_stopped(*, stopped: bool) -> None:
    """Say on standard error, where it is so, that the search for a round was stopped."""
    if stopped:
        typer.echo("Stopped: this is the best round found until then, checked and written.", err=True)


def tell_removed(filled: Filled) -> None:
    """Say on standard error which pages went with a new round, and which did not because the farmer changed them."""
    for name in filled.removed:
        say(f"Removed: {name}, a page of the round that stood there before", err=True)
    for name in filled.left:
        say(f"note: {name} there is of another round; it was changed since outyard wrote it, and stays", err=True)


def tell_set_aside(rows: Sequence[SetAside]) -> None:
    """Tell on standard error which rows of a log count for nothing, and what to do."""
    for row in rows[:MOST_TOLD]:
        say(f"warning: log.sqlite: {row}; it is set aside and counts for nothing", err=True)
    if rows:
        more = f"{len(rows) - MOST_TOLD} more rows are set aside; " if len(rows) > MOST_TOLD else ""
        typer.echo(
            f"warning: log.sqlite: {more}outyard log mend FOLDER writes a clean log and keeps this one", err=True
        )


def _forgive(stream: object) -> None:
    """Let a name never stop a print on an old terminal."""
    if isinstance(stream, io.TextIOWrapper) and stream.errors == "strict":
        stream.reconfigure(errors="replace")


@contextmanager
def told_plainly() -> Iterator[None]:
    """Turn what went wrong into one line each on stderr and the fitting exit code."""
    try:
        yield
    except FarmError as error:
        for fault in error.faults:
            say(f"{'warning: ' if fault.warning else ''}{fault}", err=True)
        raise typer.Exit(BAD_INPUT) from None
    except CheckFailed as error:
        say(f"{error}\nThis is a fault of the program, not of your folder; nothing was written.", err=True)
        raise typer.Exit(OUR_FAULT) from None
    except OutyardError as error:
        say(str(error), err=True)
        raise typer.Exit(BAD_INPUT) from None
