"""The desk as one application: the routes of all views, behind the guard.

What the first page needs is imported at once, the other views when they are first asked for: so that page is there
within two seconds of the command.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.routing import BaseRoute, Match, Route, Router
from starlette.types import ASGIApp, Receive, Scope, Send

from routing.desk.guard import Guard
from routing.desk.serving import faulted
from routing.desk.state import Desk
from routing.desk.views import files, start, tomorrow
from routing.lazily import imported

AT_ONCE = (start, files, tomorrow)
"""Each has its `ROUTES`, as those have that come later."""
LATER: Mapping[str, tuple[str, ...]] = {
    "plan": ("plan", "plan_files"),
    **{name: (name,) for name in ("begin", "sites", "jobs", "tables", "due", "record", "feed", "season", "farm")},
    **{name: (name,) for name in ("send", "undo")},
}
"""The modules of views by the first part of their paths, which all of their routes have."""


@cache
def routes_of(name: str) -> tuple[Route, ...]:
    """Return the routes whose paths have this first part; their modules are imported now."""
    modules = [imported(f"routing.desk.views.{module}") for module in LATER[name]]
    return tuple(route for module in modules for route in module.ROUTES)


def every_route() -> tuple[Route, ...]:
    """Return every route that there is."""
    now = (route for view in AT_ONCE for route in view.ROUTES)
    return (*now, *(route for name in LATER for route in routes_of(name)))


class Later(BaseRoute):
    """All routes whose paths have one first part, imported when one of them is first asked for."""

    def __init__(self, name: str) -> None:
        self.name = name

    def matches(self, scope: Scope) -> tuple[Match, Scope]:
        """Return whether a request may be for one of these routes."""
        first = scope["path"].split("/", 2)[1] if scope["type"] == "http" else ""
        return (Match.FULL if first == self.name else Match.NONE), {}

    async def handle(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request by the one of these routes that it is for, if any."""
        routes = await run_in_threadpool(routes_of, self.name)
        await Router(routes)(scope, receive, send)


def application(desk: Desk) -> ASGIApp:
    """Return the application of a desk."""
    routes: Iterable[Route] = [route for view in AT_ONCE for route in view.ROUTES]
    app = Starlette(
        routes=[*routes, *(Later(name) for name in LATER)],
        exception_handlers={Exception: faulted},
    )
    app.state.desk = desk
    desk.paths = frozenset([*(route.path for route in routes), *(f"/{name}" for name in LATER)])
    return Guard(app, desk.access)  # around all of it: what the program answers to a fault of its own is guarded too
