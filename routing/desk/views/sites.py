"""The sites, as a table to work in, with the map beside it."""

from __future__ import annotations

from starlette.responses import Response

from routing.desk.given import Given
from routing.desk.serving import page, shown
from routing.desk.state import Desk


def sites(desk: Desk, _given: Given) -> Response:
    """Show the table of sites and the map."""
    return page(desk, "sites.html", {"name": "sites", "has_private": True}, title="Sites", here="/sites")


ROUTES = [shown("/sites", sites)]
