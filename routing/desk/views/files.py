"""The desk's own scripts and styles, given by their names alone: no path from the browser is opened."""

from __future__ import annotations

from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable

from starlette.responses import PlainTextResponse, Response

from routing.desk.given import Given
from routing.desk.serving import shown
from routing.desk.state import Desk

SHARED = ("tokens.css", "sheet.css", "day_line.css")
"""Styles that the desk has in common with the pages for paper and phone: colours, letters, the day line."""
KINDS = {".css": "text/css", ".js": "text/javascript"}


def static(desk: Desk, given: Given) -> Response:
    """Return a script or a style."""
    del desk
    file = _files().get(given.text("name"))
    if file is None:
        return PlainTextResponse("There is no such file.\n", 404)
    kind = KINDS["." + file.name.rpartition(".")[2]]
    return Response(file.read_bytes(), media_type=kind, headers={"cache-control": "no-cache"})


@cache
def _files() -> dict[str, Traversable]:
    """Return every file that may be given, by its name."""
    own = [
        file
        for file in resources.files("routing.desk").joinpath("static").iterdir()
        if file.name.endswith(tuple(KINDS))
    ]
    templates = resources.files("routing.share").joinpath("templates")
    return {file.name: file for file in (*own, *(templates.joinpath(name) for name in SHARED))}


ROUTES = [shown("/static/{name}", static, without_farm=True)]
