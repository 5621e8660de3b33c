"""Locked pages and the open ones beside them: what stands open is told, and removed where the farmer says so."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path

import typer

from routing.output.places import Ground, shown
from routing.output.whole import fill_folder
from routing.share.pages.file_names import is_locked_page, is_open_page, locked_page
from routing.share.pages.helper_page import helper_pages
from routing.share.pages.locked import lock_page
from routing.share.safety.private import Shared


def locked_pages(shared: Shared, passphrase: str) -> dict[str, str]:
    """Return the pages of the round, one for each crew and day, locked, by file names that tell nothing."""
    pages = helper_pages(shared.round, shared.private).values()
    return {locked_page(number): lock_page(page, passphrase) for number, page in enumerate(pages, start=1)}


def write_locked(pages: Mapping[str, str], folder: Path, ground: Ground, *, only_locked: bool) -> tuple[Path, ...]:
    """Write locked pages and return them; pages beside them that need no passphrase are told, or removed.

    They are removed where `only_locked` says so, or somebody at the terminal does; `round.json` stays, to share from
    again, and so does a page that was changed since it was written. Raises AskedError and WriteError.
    """
    beside = _open_pages(folder)
    gone = bool(beside) and (only_locked or _agreed(beside, folder))

    def stale(name: str) -> bool:
        return is_locked_page(name) or (gone and is_open_page(name))

    filled = fill_folder(pages, folder, ground, stale=stale)
    removed = [shown(name) for name in filled.removed if is_open_page(name)]
    if removed:
        _tell(f"Removed, for they open without a passphrase: {', '.join(removed)}")
    if still := _open_pages(folder):
        why = "changed since outyard wrote them, so they stay" if gone else "remove them with --only-locked"
        _tell(f"note: beside the locked pages these open without a passphrase: {', '.join(still)}; {why}")
    if (folder / "round.json").exists():
        _tell("note: round.json there is not locked either: it is yours to share from; do not send the whole folder")
    return filled.paths


def _open_pages(folder: Path) -> list[str]:
    return sorted(shown(path.name) for path in folder.iterdir() if is_open_page(path.name)) if folder.is_dir() else []


def _agreed(pages: list[str], folder: Path) -> bool:
    """Return whether somebody who can be asked wants the open pages removed."""
    if not _answers():
        return False
    return typer.confirm(
        f"These in {shown(folder)} open without a passphrase: {', '.join(pages)}. Remove them?", err=True
    )


def _answers() -> bool:
    return sys.stdin.isatty()


def _tell(text: str) -> None:
    sys.stderr.write(f"{text}\n")
