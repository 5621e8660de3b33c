"""A second load wherever a round is shown: when base is come back to, what comes off and what goes on."""

import csv
import datetime as dt
import io
import json
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest
from rich.console import Console

from routing.planning.chance.recourse import drops
from routing.planning.chance.simulate import odds, simulate
from routing.planning.chance.spread import Spread
from routing.planning.model.build_instance import build_instance
from routing.planning.plan import plan_days
from routing.round import Round
from routing.share.exports.csv_table import round_csv
from routing.share.exports.geojson import round_geojson
from routing.share.exports.gpx import round_gpx
from routing.share.exports.ical import round_calendar
from routing.share.exports.markdown import round_markdown
from routing.share.map.map import round_map
from routing.share.pages.helper_page import helper_page
from routing.share.pages.page import round_page
from routing.share.report.done import read_done
from routing.share.terminal.terminal import print_round
from routing.share.wording.sheet import round_sheet
from tests.returning_farm import CREW, SUMMER, legs_of, returning_farm
from tests.share.browser import CHROMIUM, Opener
from tests.share.nicknamed import nicknamed

AGAIN = "Long Barn, to unload"
OFF = "Take off Full super: 20 pieces, 340 kg"


@cache
def twice() -> Round:
    return plan_days(build_instance(returning_farm(), legs_of(returning_farm()), (SUMMER,)))


def printed(round_: Round) -> str:
    console = Console(file=io.StringIO(), width=120, highlight=False)
    print_round(round_, console)
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


SHOWN: dict[str, Callable[[Round], str]] = {
    "terminal": printed,
    "markdown": round_markdown,
    "page": round_page,
    "phone": lambda round_: helper_page(round_, 0),
    "table": round_csv,
    "gpx": round_gpx,
    "geojson": round_geojson,
    "calendar": lambda round_: round_calendar(round_).replace("\r\n ", "").replace("\\,", ","),
}


def mark() -> int:
    """Return the number of the stop at base."""
    (number,) = [stop.number for stop in twice().itineraries[0].stops if stop.load_again is not None]
    return number


@pytest.mark.parametrize("show", SHOWN.values(), ids=SHOWN.keys())
def test_what_comes_off_at_base_stands_in_everything_that_shows_a_round(show: Callable[[Round], str]) -> None:
    text = show(twice())
    assert AGAIN in text
    assert OFF in text


def test_the_sheet_counts_visits_and_has_a_list_for_each_trip() -> None:
    sheet = round_sheet(twice())
    (crew,) = sheet.crews
    assert sheet.visits.startswith("3 visits by Fern; ")
    assert [(trip.title, trip.back_title) for trip in crew.trips] == [
        ("Load at base, trip 1 of 2", "Comes back from trip 1"),
        (f"Load at base, trip 2 of 2 (stop {mark()})", "Comes back from trip 2"),
    ]
    (base,) = [stop for stop in crew.stops if stop.at_base]
    assert (base.name, base.light, base.light_left) == (AGAIN, "back at base", "")
    facts = dict(crew.facts)
    assert facts["Back at base"] == f"{base.arrive} to {base.finish}, to unload"
    assert "Long Barn" not in facts["Least light left"]
    assert [trip.fullest[0].startswith("Nothing is loaded") for trip in crew.trips] == [False, True]
    (stings,) = [line for line in sheet.cautions if line.startswith("Stings: ")]
    assert stings.endswith("(every stop)")


def test_the_table_says_base_and_leaves_light_and_hives_out() -> None:
    rows = list(csv.DictReader(io.StringIO(round_csv(twice()).lstrip("\ufeff"))))
    assert [row["What"] for row in rows] == ["base", "stop", "stop", "base", "stop", "home"]
    assert [rows[3][column] for column in ("Stop", "Light left minutes", "Hives", "Site")] == [
        str(mark()),
        "",
        "",
        AGAIN,
    ]


def test_maps_lead_by_base_and_tell_of_the_loading_there() -> None:
    features = json.loads(round_geojson(twice()))["features"]
    (way,) = [feature for feature in features if feature["properties"]["role"] == "way"]
    base = [twice().base_longitude, twice().base_latitude]
    assert way["geometry"]["coordinates"].count(base) == 3
    (again,) = [feature for feature in features if feature["properties"]["role"] == "load again"]
    assert again["geometry"]["coordinates"] == base
    assert again["properties"]["light_left_seconds"] is None
    drawn = round_map(twice())
    assert re.search(rf"Stop {mark()}: Fern is back, \d\d:\d\d to \d\d:\d\d", drawn)
    assert f"Base, also {mark()}<" in drawn.replace("\\u003c", "<")
    assert drawn.count('class=\\"pin pin-') + drawn.count("class=\\u0022pin pin-") == 3


def test_the_calendar_has_the_loading_as_an_event_of_its_own() -> None:
    events = round_calendar(twice()).replace("\r\n ", "").split("BEGIN:VEVENT")[1:]
    assert len(events) == 4
    assert f"SUMMARY:{mark()} Long Barn\\, to unload: at base" in events[mark() - 1]


def test_nicknames_leave_base_its_name() -> None:
    hidden = nicknamed(twice())
    (base,) = [stop for stop in hidden.itineraries[0].stops if stop.load_again is not None]
    assert (base.site, base.name) == ("base", "Long Barn")
    for name in ("Brook", "Copse", "Dene", "brook", "copse", "dene"):
        assert name not in hidden.model_dump_json()


def test_simulated_days_live_through_the_loading_and_never_skip_it() -> None:
    """The chance is that of a day with its second load, and what is dropped when late is never the loading."""
    crew = CREW.model_copy(update={"home_by": dt.time(12, 50)})
    farm = returning_farm(crews=(crew,))
    tight = plan_days(build_instance(farm, legs_of(farm), (SUMMER,)))
    (base,) = [stop.number for stop in tight.itineraries[0].stops if stop.load_again is not None]
    (simulated,) = simulate(tight, Spread())
    (shown,) = odds((simulated,)).crews
    assert [stop.site for stop in shown.stops] == [stop.site for stop in tight.itineraries[0].stops]
    assert 0 < shown.chance < 1
    found = drops(simulated, legs_of(farm), "van")
    assert found
    assert all(drop.skip_number != base for drop in found)


@pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer")
def test_the_phone_ticks_the_loading_for_itself(opened: Opener) -> None:
    """The stop at base is next until all is off and on, and the report has nothing of it."""
    page = opened(helper_page(twice(), 0), 360)
    for stop in twice().itineraries[0].stops[: mark() - 1]:
        for box in page.locator(f"#stop-{stop.number} [data-job]").all():
            box.check()
    assert page.locator("#next").inner_text() == f"Next: {mark()} {AGAIN}"
    boxes = page.locator(f"#stop-{mark()} [data-load]")
    assert boxes.count() == 2
    for box in boxes.all():
        box.check()
    assert page.locator("#next").inner_text() == f"Next: {mark() + 1} Brook"
    assert "done" in page.locator(f"#stop-{mark()} .state").inner_text()
    text = page.locator("#report").input_value()
    assert "base" not in text
    assert len(read_done(text).done) == 3
