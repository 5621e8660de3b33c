"""A round of several days is given away as one: what is of which day is told before, and its files stand together."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path

import gpxpy
import pytest
from icalendar import Calendar
from playwright.sync_api import Browser

from routing import stages
from routing.round import Round
from routing.share.wording import sends
from tests.desk.conftest import JUNE, SECRETS, THREE_DAYS, several_days
from tests.desk.served import Served, served
from tests.share.axe import violations
from tests.share.browser import no_sideways_scroll

FIRST, LAST = THREE_DAYS[0], THREE_DAYS[-1]
NAME = f"round-{FIRST}-to-{LAST}"
PATH = f"/send?on={FIRST}&days=3"
WHERE = {"on": FIRST.isoformat(), "days": 3}
STRONG = "harebell cobble lantern ninefold"


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Served]:
    with served(several_days(tmp_path / "farm"), tmp_path) as one:
        yield one


def _round(desk: Served) -> Round:
    found = stages.written.written_plan(desk.desk.farm(), FIRST, LAST)
    assert found is not None
    return found


def _given(desk: Served, name: str) -> str:
    found = desk.get(f"/send/file?on={FIRST}&days=3&name={name}")
    assert found.status == 200
    return found.text


@pytest.mark.parametrize("width", [360, 1280])
def test_what_is_of_which_day_is_told_before_it_is_made(desk: Served, browser: Browser, width: int) -> None:
    with desk.opened(browser, width) as opened:
        page = opened.page(f"/tomorrow?on={FIRST}&days=3")
        page.get_by_role("link", name="Send it").click()
        assert page.locator("h1").inner_text() == ("Send the round of Wednesday 10 June 2026 to Friday 12 June 2026")
        assert page.locator(".files .soft").all_inner_texts()[:2] == [
            "A crew's page for the phone: One, Wed 10 Jun",
            "A crew's page for the phone: One, Thu 11 Jun",
        ]
        page.get_by_label("Table for a spreadsheet").check()
        page.get_by_label("Each crew's page for the phone, and the page for paper").check()
        page.locator("#will li", has_text="so no page").wait_for()
        assert page.locator("#will li").all_inner_texts() == [
            f"{sends.KINDS['csv'].name}: {sends.KINDS['csv'].holds}.",
            f"{sends.PAGES}.",
            "All 3 days, Wed 10 Jun to Fri 12 Jun, are in one file of a kind.",
            "Wed 10 Jun: a page for One.",
            "Thu 11 Jun: a page for One.",
            "Fri 12 Jun: nothing is planned, so no page.",
            sends.NO_PRIVATE,
            sends.PLACES,
        ]
        assert violations(page) == {}
        assert no_sideways_scroll(page)
        page.get_by_role("button", name="Make this").click()
        page.get_by_text("Written: ").first.wait_for()
        with page.expect_download() as kept:
            page.get_by_role("link", name=f"{NAME}.csv").click()
        rows = csv.DictReader(io.StringIO(Path(kept.value.path()).read_text(encoding="utf-8-sig")))
        assert {row["Date"] for row in rows} == {str(day.date) for day in _round(desk).itineraries}
    assert [path.name for path in (desk.desk.folder / "sent").iterdir()] == [f"{FIRST} to {LAST}"]


def test_each_file_holds_every_day(desk: Served) -> None:
    """GPX 1.1 has a route each by its name, RFC 5545 an event each with its start."""
    made = desk.post("/send/make", WHERE | dict.fromkeys(sends.KINDS, True))
    assert made.status == 200, made.text
    assert made.json["go"] == PATH
    days = _round(desk).itineraries
    assert len({day.date for day in days}) == 2
    routes = gpxpy.parse(_given(desk, f"{NAME}.gpx")).routes
    assert [route.name for route in routes] == [f"{day.date} {day.crew_name}" for day in days]
    events = Calendar.from_ical(_given(desk, f"{NAME}.ics")).walk("VEVENT")
    stops = [stop for day in days for stop in day.stops]
    assert sorted(event.decoded("DTSTART") for event in events) == [stop.start for stop in stops]
    folder = desk.desk.folder / "sent" / f"{FIRST} to {LAST}"
    assert {path.name for path in folder.iterdir()} == {f"{NAME}.{kind.ending}" for kind in sends.KINDS.values()}
    assert "round-" not in desk.get(f"/send?on={FIRST}").text


def test_private_things_are_in_every_days_pages_only_when_ticked(desk: Served) -> None:
    folder = desk.desk.folder / "rounds" / f"{FIRST} to {LAST}"
    day = next(day for day in _round(desk).itineraries if any(stop.name == "Alder" for stop in day.stops))
    for private in (True, False):
        wanted = WHERE | {"pages": True, "private": private}
        will = desk.post("/send/look", wanted).json["will"]
        assert (sends.NO_PRIVATE in will) != private
        assert any("of 1 site are in them" in line for line in will) == private
        assert desk.post("/send/make", wanted).status == 200
        text = (folder / f"{day.date}-{day.crew}.html").read_text(encoding="utf-8")
        assert all((secret in text) == private for secret in SECRETS)


@pytest.mark.usefixtures("few_key_rounds")
def test_locked_pages_stand_beside_their_round_and_leave_that_of_its_first_day_alone(desk: Served) -> None:
    farm = desk.desk.farm()
    stages.write.write_plan(farm, stages.plan.plan(farm, JUNE))
    alone = desk.desk.folder / "rounds" / str(FIRST)
    before = {path.name: path.read_bytes() for path in alone.iterdir()}
    made = desk.post("/send/make", WHERE | {"lock": True, "only_locked": True, "passphrase": STRONG})
    assert made.status == 200, made.text
    together = {path.name for path in (desk.desk.folder / "rounds" / f"{FIRST} to {LAST}").iterdir()}
    assert {name for name in together if name.endswith(".html")} == {"locked-1.html", "locked-2.html"}
    assert {path.name: path.read_bytes() for path in alone.iterdir()} == before


def test_without_a_round_of_the_day_alone_those_that_are_written_are_led_to(desk: Served, browser: Browser) -> None:
    assert desk.post("/send/make", {"on": str(FIRST), "gpx": True}).status == 422
    assert desk.post("/send/make", WHERE | {"days": 2, "gpx": True}).status == 422
    assert desk.post("/send/look", WHERE | {"days": 32}).status == 422
    with desk.opened(browser) as opened:
        page = opened.page(f"/send?on={FIRST}")
        page.get_by_role("link", name=f"{FIRST} to {LAST}").click()
        page.locator("#wanted").wait_for()
        page.get_by_role("navigation", name="Views").get_by_role("link", name="Tomorrow").click()
        assert page.locator("h1").inner_text() == "Round for 3 days, Wednesday 10 June 2026 to Friday 12 June 2026"
