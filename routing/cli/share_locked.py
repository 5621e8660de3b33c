"""Locked pages and the open ones beside them: what stands open is told, and whether it may go is asked."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from routing import output
from routing.cli.telling import say, tell_forgotten, tell_paths

if TYPE_CHECKING:
    from routing.stages.share import Given


def agreed(pages: Sequence[str], folder: Path) -> bool:
    """Return whether somebody who can be asked wants the open pages removed."""
    if not _answers():
        return False
    return typer.confirm(
        f"These in {output.places.shown(folder)} open without a passphrase: {_listed(pages)}. Remove them?", err=True
    )


def tell_given(given: Given) -> None:
    """Say what was given away, and on standard error what of it opens without a passphrase though others are locked."""
    tell_forgotten(given.forgotten)
    for path in given.not_locked:
        say(f"note: {path} is not locked", err=True)
    if given.removed:
        say(f"Removed, for they open without a passphrase: {_listed(given.removed)}", err=True)
    if given.open_beside:
        why = (
            "changed since outyard wrote them, so they stay" if given.wished_gone else "remove them with --only-locked"
        )
        told = f"note: beside the locked pages these open without a passphrase: {_listed(given.open_beside)}; {why}"
        say(told, err=True)
    if given.locked_in is not None and (given.locked_in / "round.json").exists():
        told = "round.json there is not locked either: it is yours to share from; do not send the whole folder"
        say(f"note: {told}", err=True)
    tell_paths(given.paths)


def _listed(pages: Sequence[str]) -> str:
    return ", ".join(output.places.shown(name) for name in pages)


def _answers() -> bool:
    return sys.stdin.isatty()
