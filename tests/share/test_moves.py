"""A move of hives wherever a round is shown: a line at each end in plain words, one tick, one job in what comes back."""

import csv
import io
import json
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest
from rich.console import Console

from routing.errors import AskedError
from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.planning.model.build_instance import build_instance
from routing.planning.plan import plan_days
from routing.round import Insertion, LeftOut, ReasonCode, Round
from routing.season.entries import Entry
from routing.season.log import Log
from routing.share.exports.csv_table import round_csv
from routing.share.exports.geojson import round_geojson
from routing.share.exports.gpx import round_gpx
from routing.share.exports.ical import round_calendar
from routing.share.exports.markdown import round_markdown
from routing.share.map.map import round_map
from routing.share.pages.helper_page import helper_page
from routing.share.pages.page import round_page
from routing.share.report.done import Done, read_done
from routing.share.report.done_words import print_done
from routing.share.terminal.explain import print_site
from routing.share.terminal.terminal import print_round
from routing.share.wording.differences import difference
from routing.share.wording.sheet import round_sheet
from routing.share.wording.sheet_left_out import left_out_sheet
from routing.stages.plan import plan
from routing.stages.reports import entries_of, log_report
from tests.moving_farm import CREW, HOLLOW, MILL, MOVE, RIDGE, SUMMER, legs_of, moving_farm
from tests.share.browser import CHROMIUM, Opener
from tests.share.html_reader import Page
from tests.share.nicknamed import nicknamed
from tests.share.sample import HOSTILE

LOAD, DOWN = "Move hives, load 4 hives for Hollow Lane, must", "Set down 4 hives from Ridge"


@cache
def moving() -> Round:
    farm = moving_farm()
    return plan_days(build_instance(farm, legs_of(farm), (SUMMER,)))


def printed(show: object, *what: object) -> str:
    console = Console(file=io.StringIO(), width=120, highlight=False)
    assert callable(show)
    show(*what, console)
    assert isinstance(console.file, io.StringIO)
    return console.file.getvalue()


def test_each_end_says_which_it_is() -> None:
    (crew,) = round_sheet(moving()).crews
    mill, load, down = crew.stops
    assert mill.jobs[0].startswith("Heft and check stores, 8 hives")
    assert load.jobs == (f"{LOAD}: 24 min",)
    assert down.jobs == (f"{DOWN}: 15 min",)


SHOWN: dict[str, Callable[[Round], str]] = {
    "terminal": lambda round_: printed(print_round, round_),
    "markdown": round_markdown,
    "page": round_page,
    "phone": lambda round_: helper_page(round_, 0),
    "map": round_map,
    "table": round_csv,
    "gpx": round_gpx,
    "geojson": round_geojson,
    "calendar": lambda round_: round_calendar(round_).replace("\r\n ", "").replace("\\,", ","),
}


@pytest.mark.parametrize("show", SHOWN.values(), ids=SHOWN.keys())
def test_both_ends_stand_in_everything_that_shows_a_round(show: Callable[[Round], str]) -> None:
    text = show(moving())
    assert LOAD in text
    assert DOWN in text


def test_what_to_beware_of_stands_at_both_ends() -> None:
    cautions = round_sheet(moving()).cautions
    assert [caution.endswith("(stops 2, 3)") for caution in cautions if caution.startswith("Straps: ")] == [True]


def test_the_table_has_the_hives_of_both_ends() -> None:
    rows = list(csv.DictReader(io.StringIO(round_csv(moving()).lstrip("\ufeff"))))
    assert [row["Hives"] for row in rows if row["What"] == "stop"] == ["8", "4", "4"]


def test_the_line_on_maps_leads_over_both_ends() -> None:
    features = json.loads(round_geojson(moving()))["features"]
    (way,) = [feature for feature in features if feature["properties"]["role"] == "way"]
    places = [tuple(point) for point in way["geometry"]["coordinates"]]
    ridge, hollow = (places.index((site.place.longitude, site.place.latitude)) for site in (RIDGE, HOLLOW))
    assert hollow == ridge + 1


def test_explaining_either_site_tells_of_the_other() -> None:
    assert "load 4 hives for Hollow Lane" in printed(print_site, moving(), "ridge")
    assert DOWN in printed(print_site, moving(), "hollow")
    farm = moving_farm(jobs=(MOVE,), crews=(CREW.model_copy(update={"people": 1}),))
    left = plan_days(build_instance(farm, legs_of(farm), (SUMMER,)))
    for site in ("ridge", "hollow"):
        told = printed(print_site, left, site)
        assert "Ridge: left out, needs more people" in told
        assert "load 4 hives for Hollow Lane" in told


def test_nicknames_hide_where_hives_go_even_where_nobody_takes_them() -> None:
    farm = moving_farm(crews=(CREW.model_copy(update={"people": 1}),))
    left_out = plan_days(build_instance(farm, legs_of(farm), (SUMMER,)))
    for round_ in (moving(), left_out):
        hidden = nicknamed(round_).model_dump_json()
        for name in ("Ridge", "Hollow", "ridge", "hollow"):
            assert name not in hidden
        assert nicknamed(round_).model_dump_json().count("jobs.csv:2") == round_.model_dump_json().count("jobs.csv:2")


def test_no_name_of_a_site_acts_in_the_phone_s_page() -> None:
    sites = (RIDGE.model_copy(update={"name": HOSTILE}), HOLLOW.model_copy(update={"name": HOSTILE}), MILL)
    farm = moving_farm(sites=sites)
    hostile = plan_days(build_instance(farm, legs_of(farm), (SUMMER,)))
    tags = [tag for tag, _ in Page(helper_page(hostile, 0)).tags]
    assert sorted(tags) == sorted(tag for tag, _ in Page(helper_page(moving(), 0)).tags)


def test_left_out_work_does_not_join_the_stop_of_a_move() -> None:
    """At Mill it could be done with what is done there; at Ridge the crew loads hives, and that is a visit of its own."""
    for site, place in ((RIDGE, "after Ridge"), (MILL, "at the stop already planned there")):
        insertion = Insertion(crew="ash", date=SUMMER, after=site.id, extra_seconds=60, shortfalls=())
        left = LeftOut(
            site=site.id,
            name=site.name,
            latitude=site.place.latitude,
            longitude=site.place.longitude,
            jobs=moving().itineraries[0].stops[0].jobs,
            reason=ReasonCode.NO_ROOM,
            text="no room",
            insertion=insertion,
        )
        assert left_out_sheet(moving(), left).cheapest == f"Tried: Ash, {place}: 1 min longer."


def test_a_move_is_one_job_between_rounds() -> None:
    farm = moving_farm(jobs=(moving_farm().jobs[1],))
    without = plan_days(build_instance(farm, legs_of(farm), (SUMMER,)))
    assert difference(without, moving()).gained == ("Ridge: Move hives",)


def report(job: str = "done: 2026-06-10T22:58:00Z jobs.csv:2") -> Done:
    """Return what the page sends back: the move stands where its hives were set down."""
    return read_done(
        "what-i-did: 1\nround: 9f69a729d2543a7d\ncrew: ash\ndate: 2026-06-10\nsent: 2026-06-10T23:30:00Z\n"
        f"site: ridge\nsite: hollow\n{job}\nnote: gate stiff\nend: {int('done' in job)} done, {int('left' in job)} left\n"
    )


def test_a_move_that_comes_back_done_is_told_with_what_is_left_to_change() -> None:
    told = [line.rstrip() for line in printed(print_done, report(), moving_farm()).splitlines()]
    assert told[1:] == [
        "1 job done, 0 left; round 9f69a729d2543a7d",
        "Ridge",
        "  done, ticked 23:58: Move hives, 4 hives to Hollow Lane (jobs.csv:2)",
        "  Note: gate stiff",
        "4 hives went from ridge to hollow: change the hives of both in sites.csv.",
    ]
    assert "sites.csv" not in printed(print_done, report("left: jobs.csv:2"), moving_farm())


def folder(tmp_path: Path) -> Farm:
    """Return the same farm as a folder."""
    (tmp_path / "farm.toml").write_text(
        'time_zone = "Europe/London"\n[base]\nlatitude = 52.32\nlongitude = -2.88\n'
        '[[vehicle]]\nid = "van"\npayload_kg = 500\nspace_litres = 3000\n'
        '[[crew]]\nid = "ash"\npeople = 2\nvehicle = "van"\nearliest_start = "12:00"\nhome_by = "03:00"\n'
    )
    (tmp_path / "sites.csv").write_text("id,place,hives\nridge,52.30 -2.90,6\nhollow,52.40 -2.90,2\n")
    (tmp_path / "jobs.csv").write_text("site,kind,hives,to\nridge,move-hives,4,hollow\n")
    return read_farm(tmp_path)


def test_a_done_move_is_logged_once_at_the_site_it_left(tmp_path: Path) -> None:
    farm = folder(tmp_path)
    (entry,) = entries_of(farm, report())
    assert (entry.site, entry.kind, entry.hives, entry.note) == (
        *("ridge", "move-hives", 4, "moved to hollow. gate stiff"),
    )
    assert (log_report(farm, report()), log_report(farm, report())) == (1, 0)


def test_suspect_brood_in_the_log_stops_the_move_until_the_all_clear(tmp_path: Path) -> None:
    farm = folder(tmp_path)
    Log.open(tmp_path).add(Entry(date=SUMMER, site="ridge", kind="requeen"))
    assert any(stop.set_down for day in plan(farm, SUMMER).itineraries for stop in day.stops)
    (entry,) = entries_of(farm, report())
    seen = entry.model_copy(update={"reference": "x", "site": "hollow", "kind": "heft", "seen": ("suspect-brood",)})
    Log.open(tmp_path).add(seen)
    with pytest.raises(AskedError, match='suspect brood was seen at site "hollow" on 2026-06-10'):
        plan(farm, SUMMER)
    clear = seen.model_copy(update={"reference": "y", "seen": ("inspector-clear",)})
    Log.open(tmp_path).add(clear)
    assert plan(farm, SUMMER).itineraries


@pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer")
def test_the_phone_ticks_loading_for_itself_and_the_move_where_hives_are_set_down(opened: Opener) -> None:
    page = opened(helper_page(moving(), 0), 360)
    assert page.locator("#count").inner_text() == "0 of 2 jobs done"
    page.locator("#stop-1 [data-job]").check()
    assert page.locator("#next").inner_text() == "Next: 2 Ridge"
    page.locator("#stop-2 [data-load]").check()
    assert page.locator("#next").inner_text() == "Next: 3 Hollow Lane"
    assert page.locator("#count").inner_text() == "1 of 2 jobs done"
    page.locator("#stop-3 [data-job]").check()
    assert page.locator("#next").inner_text() == "All done: home"
    assert page.locator("#count").inner_text() == "2 of 2 jobs done"
    sent = read_done(page.locator("#report").input_value())
    assert sorted(job.id for _, job in sent.done) == ["jobs.csv:2", "jobs.csv:3"]
    assert sent.left == ()
