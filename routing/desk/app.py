"""The desk as one application: the routes of all views, behind the guard."""

from __future__ import annotations

from starlette.applications import Starlette
from starlette.types import ASGIApp

from routing.desk.guard import Guard
from routing.desk.serving import faulted
from routing.desk.state import Desk
from routing.desk.views import (
    begin,
    due,
    farm,
    feed,
    files,
    jobs,
    plan,
    plan_files,
    record,
    season,
    send,
    sites,
    start,
    tables,
    tomorrow,
    undo,
)

VIEWS = (
    start,
    begin,
    files,
    tomorrow,
    plan,
    plan_files,
    sites,
    jobs,
    tables,
    due,
    record,
    feed,
    season,
    farm,
    send,
    undo,
)
"""Each has its `ROUTES`."""
ROUTES = tuple(route for view in VIEWS for route in view.ROUTES)


def application(desk: Desk) -> ASGIApp:
    """Return the application of a desk."""
    app = Starlette(routes=ROUTES, exception_handlers={Exception: faulted})
    app.state.desk = desk
    desk.paths = frozenset(route.path for route in ROUTES)
    return Guard(app, desk.access)  # around all of it: what the program answers to a fault of its own is guarded too
