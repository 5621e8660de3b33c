"""Coming in, opening a farm, and closing the desk."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response

from routing import stages
from routing.desk.access import ENTRANCE
from routing.desk.given import Given
from routing.desk.road_maps import new_farm_values
from routing.desk.serving import changed, environment, page, shown
from routing.desk.state import Desk
from routing.errors import AskedError, OutyardError
from routing.share.safety.safe import plain_name, plain_text


def enter(desk: Desk, given: Given) -> Response:
    """Take the key, once, and let this browser in.

    The cookie comes with a page in between that leads on by itself: the browser was sent here by a file, so a
    redirect would still count as sent by another site, and would arrive without the cookie.
    """
    cookie = desk.access.take_key(given.text("key", 200))
    if cookie is None:
        return PlainTextResponse("This address of the desk was used already: open it again with outyard.\n", 403)
    text = environment().get_template("enter.html").render()
    return HTMLResponse(text, headers={"set-cookie": cookie})


def first(desk: Desk, _given: Given) -> Response:
    """Lead to tomorrow; to where a first round begins while there is none to plan, or to where a farm is opened."""
    return RedirectResponse(_first_path(desk) if desk.has_farm else "/start", 303)


def _first_path(desk: Desk) -> str:
    if stages.written.has_rounds(desk.folder):
        return "/tomorrow"
    try:
        return "/tomorrow" if desk.farm().jobs else "/begin"
    except OutyardError:
        return "/begin"


def start(desk: Desk, _given: Given) -> Response:
    """Show the farms that were opened last."""
    farms = [(plain_name(folder.name), plain_text(str(folder.parent), 300)) for folder in desk.recent.folders()]
    return page(desk, "start.html", {"farms": farms, **new_farm_values(desk)}, title="Farms", here="/start")


def open_farm(desk: Desk, given: Given) -> Mapping[str, object]:
    """Open a farm of the list, by its place there and its name: no path comes from the browser."""
    folders = desk.recent.folders()
    number = given.whole("number", 0, len(folders) - 1)
    if number is None or plain_name(folders[number].name) != given.text("name"):
        raise AskedError("the list of farms has changed; load the page again")
    desk.open(folders[number])
    return {"go": _first_path(desk)}


def close(desk: Desk, _given: Given) -> Mapping[str, object]:
    """Close the desk."""
    desk.leave()
    return {"lines": ["The desk is closed; this window can be closed too."]}


ROUTES = [
    shown(ENTRANCE, enter, without_farm=True),
    shown("/", first, without_farm=True),
    shown("/start", start, without_farm=True),
    changed("/start/open", open_farm, without_farm=True),
    changed("/close", close, without_farm=True),
]
