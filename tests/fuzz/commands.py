"""Runs command lines in this process, without the search for rounds where that is not what is looked at."""

from __future__ import annotations

import contextlib
import datetime as dt
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from unittest.mock import patch

from typer import testing
from typer.main import get_command

from routing.cli.app import app
from routing.desk import start
from routing.errors import AskedError
from routing.round import FitAnswer, FitProof, Round
from routing.stages import ask, plan, write
from tests.fuzz import small_farm
from tests.fuzz.outcome import UNSEEN, PromiseBrokenError

SAYS_NO = ("fit", "try")
"""The commands that may end with exit code 1."""


def ran(words: Sequence[str], folder: Path) -> str:
    """Run a command line in a folder and return what it printed.

    Raises what the command raises, and PromiseBrokenError for an exit code that means nothing and for what a terminal
    would obey.
    """
    with (
        patch.object(testing, "_get_command", lambda _: _command()),  # made once instead of for every line
        patch.object(start, "open_desk", lambda *_, **__: None),  # which serves until it is closed
        contextlib.chdir(folder),
    ):
        result = testing.CliRunner().invoke(app, list(words), env={"COLUMNS": "100"}, catch_exceptions=False)
    if result.exit_code not in {0, 2} and not (result.exit_code == 1 and words[0] in SAYS_NO):
        raise PromiseBrokenError(f"exit code {result.exit_code} of {' '.join(words[:2])}: {result.output[-200:]}")
    told = result.stderr if "--json" in words else result.output
    if not told.startswith("Usage:") and (bad := UNSEEN & set(told)):
        raise PromiseBrokenError(f"unclean print of {' '.join(words[:2])}: {min(bad)!r}")
    return result.output


@contextlib.contextmanager
def searched(round_: Round) -> Iterator[None]:
    """Let a round stand in for every search, and refuse to write its pages: both take seconds."""
    date = dt.date.fromisoformat(small_farm.DAY)
    answer = FitAnswer(date=date, fits=True, proof=FitProof.ORDER, lines=("Yes.",), round=round_)
    with (
        patch.object(plan, "checked", lambda *_, **__: round_),
        patch.object(ask, "checked", lambda *_, **__: round_),
        patch.object(plan, "plan_shared", lambda farm, *_, **__: (farm, round_)),
        patch.object(ask, "fit_shared", lambda *_, **__: answer),
        patch.object(plan, "sure_round", lambda *_, **__: round_),
        patch.object(ask, "simulate", lambda *_, **__: ()),
        patch.object(write, "write_round", _refused),
    ):
        yield


def _refused(*_: object, **__: object) -> None:
    raise AskedError("pages are not written here")


@cache
def _command() -> object:
    return get_command(app)
