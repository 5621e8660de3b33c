"""What is seen of a plan in the browser: bars as long as the times in `round.json`, progress, Stop, and a disk that is full."""

from __future__ import annotations

import datetime as dt
import os
import time
from itertools import pairwise
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page

from routing import stages
from routing.round import Itinerary, Round
from routing.share.wording.day_line import day_line
from routing.share.wording.sheet import round_sheet
from tests.desk.served import Served, served
from tests.farm_of_twenty import write_farm
from tests.share.browser import contrast

DATE = "2026-12-10"
JUNE = dt.date(2026, 6, 10)
SECOND = (
    '[[vehicle]]\nid = "truck"\nname = "Truck"\npayload_kg = 900\nspace_litres = 6000\n'
    '[[crew]]\nid = "two"\nname = "Two"\npeople = 1\nvehicle = "truck"\nearliest_start = "06:30"\nhome_by = "19:00"\n'
)


def moments(day: Itinerary) -> list[tuple[str, dt.datetime, dt.datetime]]:
    """Return kind, begin and end of all that a day is made of, out of the round alone, in order."""
    found = [("load", day.load_from, day.leave)]
    at = day.leave
    for stop in day.stops:
        rest = stop.rest and ("break", stop.rest.start, stop.rest.start + dt.timedelta(seconds=stop.rest.seconds))
        found.append(("drive", at, stop.arrive))
        found += [rest] if rest and rest[1] < stop.start else []
        found.append(("work", stop.start, stop.finish))
        found += [rest] if rest and rest[1] >= stop.finish else []
        at = rest[2] if rest and rest[1] >= stop.finish else stop.finish
    return [*found, ("drive", day.home - dt.timedelta(seconds=day.drive_home.seconds), day.home)]


def test_the_bars_of_a_day_line_are_the_moments_of_the_round_to_the_second(hollin_vale: Round) -> None:
    """Waits are what is left between; every other bar has the beginning and end that `round.json` has."""
    (day,) = hollin_vale.itineraries
    line = day_line(hollin_vale, 0, round_sheet(hollin_vale).crews[0])
    spans = [span for row in line.rows for span in row.spans if span.kind != "wait"]
    wanted = moments(day)
    first = day.load_from.timestamp() - spans[0].begin
    told = [(span.kind, first + span.begin, first + span.end) for span in spans]
    assert told == [(kind, begin.timestamp(), end.timestamp()) for kind, begin, end in wanted]


def _edges(bars: Locator) -> list[tuple[float, float]]:
    boxes = [bar.bounding_box() for bar in bars.all()]
    return [(box["x"], box["x"] + box["width"]) for box in boxes if box]


def test_the_bars_on_the_screen_are_as_long_as_the_times_and_in_their_order(
    example_desk: Served, browser: Browser, hollin_vale: Round
) -> None:
    """As near as a pixel is: the axis is some 700 pixels for 13 hours, so a minute is about one."""
    (day,) = hollin_vale.itineraries
    with example_desk.opened(browser) as opened:
        page = opened.page(f"/tomorrow?on={DATE}")
        edges = _edges(page.locator("#crews .day-line:visible .span-work"))
        seconds = [(stop.start.timestamp(), stop.finish.timestamp()) for stop in day.stops]
        scale = (edges[-1][1] - edges[0][0]) / (seconds[-1][1] - seconds[0][0])
        for (left, right), (start, finish) in zip(edges, seconds, strict=True):
            assert left - edges[0][0] == pytest.approx((start - seconds[0][0]) * scale, abs=1)
            assert right - edges[0][0] == pytest.approx((finish - seconds[0][0]) * scale, abs=1)
        assert all(before[1] <= after[0] + 1 for before, after in pairwise(edges))
        assert contrast(page, "#crews .day-line:visible") >= 7


def test_a_full_disk_keeps_the_round_that_was_written_and_the_one_that_is_not(
    own_desk: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = own_desk.desk.folder / "rounds" / DATE
    before = {path.name: path.read_bytes() for path in place.iterdir()}
    where: dict[str, object] = {"on": DATE, "days": 1}

    def seen() -> dict[str, object]:
        text = own_desk.get(f"/plan/panel?on={DATE}").text
        return {**where, "seen": int(text.partition('data-seen="')[2].partition('"')[0])}

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    job = next(stop.jobs[0].id for stop in round_of(own_desk).itineraries[0].stops if stop.name == "Long Stone")
    assert own_desk.post("/plan/change", {**seen(), "do": "drop", "job": job}).status == 200
    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", full)
        told = own_desk.post("/plan/keep", seen())
    assert (told.status, len(told.json["lines"])) == (422, 1), told.text
    assert "No space left on device" in told.json["lines"][0]
    assert {path.name: path.read_bytes() for path in place.iterdir()} == before
    assert own_desk.post("/plan/keep", seen()).status == 200
    assert "Long Stone" not in [stop.name for stop in round_of(own_desk).itineraries[0].stops]


def round_of(desk: Served) -> Round:
    found = stages.written.written_plan(desk.desk.farm(), dt.date.fromisoformat(DATE))
    assert found is not None
    return found


def _until(page: Page, words: str) -> None:
    page.locator("#plan-running [data-told='best']", has_text=words).wait_for(timeout=120_000)


@pytest.mark.clock
def test_progress_is_told_as_it_goes_and_stop_gives_the_best_checked_round_within_two_seconds(
    browser: Browser, tmp_path: Path
) -> None:
    """Two seconds of the desk; that it is drawn then takes the browser some more."""
    folder = tmp_path / "farm"
    folder.mkdir()
    write_farm(folder, 3, hives=8, spread=0.2, jobs=1, hours=0.2)
    with (folder / "farm.toml").open("a", encoding="utf-8") as file:
        file.write(SECOND)
    with served(folder, tmp_path) as desk, desk.opened(browser) as opened:
        page = opened.page(f"/tomorrow?on={JUNE}")
        page.get_by_label("Seconds to search").fill("300")
        page.get_by_role("button", name="Plan", exact=True).click()
        _until(page, "Best so far: ")
        assert "of 300 s gone" in page.locator("#plan-running [data-told='clock']").inner_text()
        begun = time.monotonic()
        page.get_by_role("button", name="Stop and keep the best").click()
        page.locator("#plan-live", has_text="The search is over.").wait_for()
        assert time.monotonic() - begun < 4
        page.locator("#plan-headline").wait_for()
        trial = desk.desk.planners[desk.desk.mark].trial(desk.desk.farm(), (JUNE,))
        assert trial is not None
        assert trial.shown().holds
        assert trial.ready.broken(trial.shown().round) == ()
