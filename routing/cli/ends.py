"""What the command line's library says by the way it ends, and what was asked of it; imported once that is at hand."""

from __future__ import annotations

import sys

import typer
from typer.main import get_command

from routing.cli.app import app
from routing.cli.fault_report import Asked, asked

NO, OUR_FAULT, STOPPED, NOBODY_READS = 1, 3, 130, 141


def meant_by_one(end: SystemExit) -> int:
    """Return the exit code that is meant by 1: the library ends with it for more than a command's own no."""
    if isinstance(end.__context__, typer.Exit):
        return NO
    if isinstance(end.__context__, BrokenPipeError):
        return NOBODY_READS
    return STOPPED if isinstance(end.__context__, typer.Abort) else OUR_FAULT


def asked_now() -> Asked:
    """Return what was asked for on the command line."""
    return asked(sys.argv[1:], get_command(app))
