"""The desk as one application: the routes of all views, behind the guard."""

from __future__ import annotations

from starlette.applications import Starlette
from starlette.middleware import Middleware

from routing.desk.guard import Guard
from routing.desk.state import Desk
from routing.desk.views import files, start, tomorrow

VIEWS = (start, files, tomorrow)
"""Each has its `ROUTES`."""


def application(desk: Desk) -> Starlette:
    """Return the application of a desk."""
    routes = [route for view in VIEWS for route in view.ROUTES]
    app = Starlette(routes=routes, middleware=[Middleware(Guard, access=desk.access)])
    app.state.desk = desk
    desk.paths = frozenset(route.path for route in routes)
    return app
