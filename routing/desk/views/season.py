"""The season's page, shown and kept as a file."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.responses import Response

from routing import stages
from routing.desk.given import Given
from routing.desk.serving import changed, page, shown
from routing.desk.state import Desk, today
from routing.desk.views.tomorrow import framed
from routing.share.safety.safe import plain_text

HERE = "/season"
FILE = "season.html"


def season(desk: Desk, given: Given) -> Response:
    """Show the calendar of the season in a frame."""
    date = given.date("on") or today(desk.written_farm())
    return page(desk, "season.html", {"on": date.isoformat(), "file": FILE}, title="Season", here=HERE)


def season_page(desk: Desk, given: Given) -> Response:
    """Give the season's page itself, to stand in a frame or to be printed."""
    farm = desk.written_farm()
    return framed(stages.season_page.page_of(farm, given.date("on") or today(farm)))


def keep(desk: Desk, given: Given) -> Mapping[str, object]:
    """Write the season's page into the farm's folder."""
    farm = desk.written_farm()
    date = given.date("on") or today(farm)
    (path,) = stages.season_page.write_page(farm, date, farm.folder / FILE, replace=given.flag("replace"))
    return {"lines": [f"Written: {plain_text(str(path), 1000)}"]}


ROUTES = [shown(HERE, season), shown(f"{HERE}/page", season_page), changed(f"{HERE}/keep", keep)]
