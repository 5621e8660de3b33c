"""How a view answers: a page for GET, JSON for a change, and what went wrong in the words of the commands.

A view is a plain function that a thread runs, so none holds up another; `shown` and `changed` make routes of them.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from functools import cache

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from routing import stages
from routing.desk.given import Given
from routing.desk.state import Desk
from routing.errors import CheckFailed, FarmError, OutyardError
from routing.farm.faults import Faults
from routing.farm.settings import read_settings
from routing.share.safety.safe import plain_name, plain_text

type Shows = Callable[[Desk, Given], Response]
type Changes = Callable[[Desk, Given], Mapping[str, object]]

VIEWS = (
    *(("/tomorrow", "Tomorrow"), ("/sites", "Sites"), ("/jobs", "Jobs"), ("/due", "Due"), ("/record", "Record")),
    *(("/feed", "Feed"), ("/season", "Season"), ("/farm", "Farm"), ("/send", "Send")),
)
"""The views in the order of the navigation, by their paths and names."""
DATED = frozenset({"/tomorrow", "/send"})
"""Views of a day's round: the day that is looked at in one is that of the other."""
WIDE = frozenset({"/tomorrow", "/sites", "/jobs", "/season"})
"""Views of a map, a table or a calendar take all of a wide screen; what is read or filled in is held together."""
FIRST = ("/begin", "First round")
MOST_TOLD = 100
"""So many faults are told at once; the rest are counted."""

LONGEST_LINE = 1000
TROUBLE = "Something must be put right"
OTHER_FARM = "Another farm was opened at this desk since this page was: load the page again. Nothing was changed."


def shown(path: str, make: Shows, *, without_farm: bool = False) -> Route:
    """Return the route of a page; without an open farm it leads to where one is opened, unless it needs none."""

    def endpoint(request: Request) -> Response:
        desk: Desk = request.app.state.desk
        if not desk.has_farm and not without_farm:
            return RedirectResponse("/start", 303)
        try:
            return make(desk, Given({**request.query_params, **request.path_params}))
        except OutyardError as error:
            return page(desk, "trouble.html", {"lines": lines_of(error)}, title=TROUBLE, status=422)

    return Route(path, endpoint, methods=["GET"], name=f"GET {path}")


def changed(path: str, do: Changes, *, without_farm: bool = False, alone: bool = True) -> Route:
    """Return the route of a change: JSON in, JSON out, one change at a time unless it may stand beside others.

    The answer's `lines` are told to the reader; `go` is where the page leads on.
    """

    def answer(desk: Desk, mark: str, body: bytes) -> Response:
        if not without_farm and (not desk.has_farm or mark != desk.mark):
            return JSONResponse({"lines": [OTHER_FARM]}, 409)
        try:
            fields = json.loads(body)
        except (ValueError, RecursionError):
            fields = None
        if not isinstance(fields, dict):
            return JSONResponse({"lines": ["The desk could not read what this page sent."]}, 400)
        try:
            if not alone:
                return JSONResponse(do(desk, Given(fields)))
            with desk.changing:
                return JSONResponse(do(desk, Given(fields)))
        except OutyardError as error:
            return JSONResponse({"lines": lines_of(error)}, 422)

    async def endpoint(request: Request) -> Response:
        mark = request.headers.get("desk-farm", "")
        return await run_in_threadpool(answer, request.app.state.desk, mark, await request.body())

    return Route(path, endpoint, methods=["POST"], name=f"POST {path}")


def faulted(request: Request, error: Exception) -> Response:
    """Answer a request that met a fault of the program, in one sentence."""
    desk: Desk = request.app.state.desk
    told = [plain_text(desk.fault(error), LONGEST_LINE)]
    if request.method == "POST":
        return JSONResponse({"lines": told}, 500)
    return page(desk, "trouble.html", {"lines": told}, title="A fault of the program", status=500)


def lines_of(error: OutyardError) -> list[str]:
    """Return what went wrong as the commands tell it, a line each, safe to show."""
    if isinstance(error, FarmError):
        told = [f"{'Note: ' if fault.warning else ''}{fault}" for fault in error.faults]
    else:
        told = str(error).splitlines()
    if isinstance(error, CheckFailed):
        told.append("This is a fault of the program, not of your folder; nothing was written.")
    more = [f"and {len(told) - MOST_TOLD} more"] if len(told) > MOST_TOLD else []
    return [plain_text(line, LONGEST_LINE) for line in [*told[:MOST_TOLD], *more]]


def page(
    desk: Desk, template: str, values: Mapping[str, object], *, title: str, here: str = "", status: int = 200
) -> Response:
    """Return a page of the desk, from a template and its values; `here` is the path of its view."""
    name, warnings = _farm_words(desk)
    text = (
        environment()
        .get_template(template)
        .render(
            title=title,
            here=here,
            views=_views(desk),
            dated=DATED,
            wide=WIDE,
            farm_name=name,
            farm_mark=desk.mark,
            warnings=warnings,
            **{"on": "", **values},
        )
    )
    return HTMLResponse(text, status)


def _views(desk: Desk) -> list[tuple[str, str]]:
    """Return the views to go to; until a first round is written, what leads to it stands first."""
    if not desk.has_farm:
        return []
    first = [] if stages.written.has_rounds(desk.folder) else [FIRST]
    return [view for view in (*first, *VIEWS) if view[0] in desk.paths]


def _farm_words(desk: Desk) -> tuple[str, list[str]]:
    """Return the name of the open farm and what is to be said of its files; a faulty one's folder names it."""
    if not desk.has_farm:
        return "", []
    try:
        farm = desk.farm()
    except OutyardError:
        return plain_name(read_settings(desk.folder, Faults()).name or desk.folder.name), []
    return plain_name(farm.name), [plain_text(str(warning), LONGEST_LINE) for warning in farm.warnings[:MOST_TOLD]]


@cache
def environment() -> Environment:
    """Return the templates of the desk, and those that it shares with the other pages; every value is escaped."""
    return Environment(
        loader=ChoiceLoader([PackageLoader("routing.desk"), PackageLoader("routing.share")]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
