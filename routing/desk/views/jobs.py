"""The jobs wanted, as a table to work in."""

from __future__ import annotations

from starlette.responses import Response

from routing.desk.given import Given
from routing.desk.serving import page, shown
from routing.desk.state import Desk


def jobs(desk: Desk, _given: Given) -> Response:
    """Show the table of jobs."""
    return page(desk, "jobs.html", {"name": "jobs", "has_private": False}, title="Jobs", here="/jobs")


ROUTES = [shown("/jobs", jobs)]
