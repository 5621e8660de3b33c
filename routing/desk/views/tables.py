"""What the grids of sites and jobs ask for and send, and undo and redo of every file."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.responses import JSONResponse, Response

from routing.desk.edits import Outcome
from routing.desk.given import Given
from routing.desk.serving import changed, shown
from routing.desk.state import Desk
from routing.desk.tables import TITLES, change_of, grid, told, with_ids, words_of
from routing.errors import AskedError


def _name(given: Given) -> str:
    name = given.text("name", 20)
    if name not in TITLES:
        raise AskedError("there is no such table")
    return name


def table(desk: Desk, given: Given) -> Response:
    """Give a table; its private cells where they are asked for."""
    return JSONResponse(grid(desk.edits, _name(given), private=given.text("private", 5) == "yes"))


def digest(desk: Desk, given: Given) -> Response:
    """Give the digest of a table's file, so that a page sees that it was changed elsewhere."""
    return JSONResponse({"digest": desk.edits.table(_name(given)).digest})


def change(desk: Desk, given: Given) -> Mapping[str, object]:
    """Make a change of a table, and give the table as it is then."""
    name, private = _name(given), given.flag("private")
    wanted, before = change_of(given, name), desk.edits.table(name)
    if name == "sites":
        wanted = with_ids(wanted, before)
    what = words_of(name, before, wanted)
    outcome = desk.edits.change(name, given.text("base", 100), wanted, what)
    return {"outcome": told(outcome), "table": grid(desk.edits, name, private=private)}


def undo(desk: Desk, given: Given) -> Mapping[str, object]:
    """Take the last change back, of whichever file."""
    return _turned(desk, given, desk.edits.undo(), "Undone")


def redo(desk: Desk, given: Given) -> Mapping[str, object]:
    """Make the change again that was undone last."""
    return _turned(desk, given, desk.edits.redo(), "Made again")


def _turned(desk: Desk, given: Given, outcome: Outcome, done: str) -> Mapping[str, object]:
    said = f"{done}. {outcome.said}" if outcome.kept else outcome.said
    table = grid(desk.edits, _name(given), private=given.flag("private"))
    return {"outcome": told(outcome), "said": said, "table": table}


ROUTES = [
    shown("/tables/{name}", table),
    shown("/tables/{name}/digest", digest),
    changed("/tables/change", change),
    changed("/tables/undo", undo),
    changed("/tables/redo", redo),
]
