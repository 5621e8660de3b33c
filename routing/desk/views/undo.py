"""Undo and redo of what was changed in the farm's files, from any view: the very step that the page told of."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from routing.desk.edits import Edits, Outcome
from routing.desk.given import Given
from routing.desk.serving import changed
from routing.desk.state import Desk
from routing.errors import AskedError
from routing.share.safety.safe import plain_text

HERE = "/undo"
OTHER = "Another change was made since this page was loaded: load it again to see which. Nothing was changed."


def undo_values(edits: Edits) -> dict[str, str]:
    """Return what undo and redo would do, in words, and the mark that tells which steps these are."""
    undo, redo = edits.can
    return {"undo": plain_text(undo), "redo": plain_text(redo), "mark": edits.mark}


def undo(desk: Desk, given: Given) -> Mapping[str, object]:
    """Put back the bytes from before the last change."""
    return _turned(desk, given, desk.edits.undo, "Undone")


def redo(desk: Desk, given: Given) -> Mapping[str, object]:
    """Make the change again that was undone last."""
    return _turned(desk, given, desk.edits.redo, "Made again")


def _turned(desk: Desk, given: Given, turn: Callable[[], Outcome], done: str) -> Mapping[str, object]:
    if given.text("mark", 100) != desk.edits.mark:
        raise AskedError(OTHER)
    outcome = turn()
    if not outcome.kept:
        raise AskedError(outcome.said)
    return {"lines": [plain_text(f"{done}: {outcome.said}")]}


ROUTES = [changed(HERE, undo), changed(f"{HERE}/again", redo)]
