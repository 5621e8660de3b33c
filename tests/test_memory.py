"""Where the log meets the rest: reports into it, past visits to learn from, and the season's page."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from routing.cli.app import app
from routing.errors import AskedError
from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.season.due import Asked, due_items
from routing.season.entries import Entry, Record
from routing.season.log import Log
from routing.season.outlook import feed_outlook
from routing.season.past_visits import past_visits
from routing.share.report.done import Done, ReportedJob, ReportedStop
from routing.share.wording.season import State
from routing.stages import plan as plan_stage
from routing.stages.reports import entries_of, log_report
from routing.stages.season_page import season_of

EXAMPLE = Path(__file__).parents[1] / "examples" / "four-sites"
JUNE = dt.date(2026, 6, 10)
NOON = dt.datetime(2026, 6, 10, 11, tzinfo=dt.UTC)


@pytest.fixture
def farm(tmp_path: Path) -> Farm:
    """Return the four-site farm in a folder of its own."""
    return read_farm(shutil.copytree(EXAMPLE, tmp_path / "farm", ignore=shutil.ignore_patterns("rounds")))


def report(*jobs: tuple[str, bool]) -> Done:
    stops = tuple(
        ReportedStop(site="A", jobs=(ReportedJob(id=job, ticked=NOON if ticked else None),), note="by the hedge")
        for job, ticked in jobs
    )
    return Done(round_key="0123456789abcdef", crew="one", date=JUNE, sent=NOON, stops=stops)


def test_what_a_helper_ticked_is_written_once(farm: Farm) -> None:
    """A ticked job becomes an entry, one left to do none, and the same report again adds nothing."""
    sent = report(("jobs.csv:2", True), ("jobs.csv:3", False))
    assert log_report(farm, sent) == 1
    assert log_report(farm, sent) == 0
    (entry,) = Log.record_of(farm.folder).entries
    assert (entry.site, entry.kind, entry.date, entry.hives, entry.note) == (
        "A",
        "weekly-inspection",
        JUNE,
        5,
        "by the hedge",
    )


def test_a_part_of_a_job_is_logged_for_the_job(farm: Farm) -> None:
    assert entries_of(farm, report(("jobs.csv:3 part 2 of 3", True)))[0].site == "B"


def test_a_job_that_the_farm_does_not_have_is_refused(farm: Farm) -> None:
    with pytest.raises(AskedError, match="log it by hand"):
        entries_of(farm, report(("jobs.csv:99", True)))


def entry(kind: str, minutes: float | None, **more: object) -> Entry:
    return Entry.model_validate({"date": JUNE, "site": "A", "kind": kind, "crew": "one", "minutes": minutes, **more})


def test_entries_of_one_visit_make_one_record_and_their_minutes_add_up(farm: Farm) -> None:
    """Each entry has the minutes of its own job, alike or not: 20 + 20 are 40, and 30 + 12 are 42."""
    alike = Record(entries=(entry("heft", 20), entry("fondant", 20)))
    unlike = Record(entries=(entry("heft", 30), entry("fondant", 12, hives=3)))
    assert [(visit.kinds, visit.minutes) for visit in past_visits(farm, alike)] == [(("heft", "fondant"), 40)]
    (visit,) = past_visits(farm, unlike)
    assert (visit.minutes, visit.hives_of) == (42, {"heft": 5, "fondant": 3})


def test_a_visit_with_a_job_without_minutes_teaches_nothing(farm: Farm) -> None:
    """Who knows how long the feeding took; a storm that was logged beside it takes none."""
    assert past_visits(farm, Record(entries=(entry("heft", 20), entry("fondant", None)))) == ()
    assert len(past_visits(farm, Record(entries=(entry("heft", 20), entry("storm", None))))) == 1


@pytest.mark.parametrize("one", [entry("heft", None), entry("heft", 40, partly=True), entry("storm", 40)])
def test_what_teaches_nothing_is_passed_over(farm: Farm, one: Entry) -> None:
    """No minutes, a job only begun, and an event."""
    assert past_visits(farm, Record(entries=(one,))) == ()


def test_logged_minutes_change_the_plan(farm: Farm) -> None:
    """Ten visits of 90 min for 5 hives, where 50 were reckoned, make the day longer than before."""
    before = plan_stage.plan(farm, JUNE).itineraries[0].away_seconds
    log = Log.open(farm.folder)
    for week in range(1, 11):
        for site in "ABCD":
            day = JUNE - dt.timedelta(weeks=week)
            log.add(Entry(date=day, site=site, kind="weekly-inspection", crew="one", people=1, hives=5, minutes=90))
    from routing.cli.farms import farm_of  # noqa: PLC0415

    taught = farm_of(farm.folder)
    figure = taught.job_kinds["weekly-inspection"].minutes_a_hive
    assert figure.value > 8
    assert "visits" in figure.source
    after = plan_stage.plan(taught, JUNE)
    visits = sum(len(day.stops) for day in after.itineraries)
    assert visits < 4 or after.itineraries[0].away_seconds > before


def test_the_seasons_page_has_what_is_done_due_and_cancelled(farm: Farm) -> None:
    log = Log.open(farm.folder)
    log.add(
        Entry(date=JUNE - dt.timedelta(days=9), site="A", kind="weekly-inspection", minutes=55, people=1, crew="one")
    )
    log.add(Entry(date=dt.date(2026, 4, 20), site="A", kind="heft", stores_kg=9))
    season = season_of(farm, JUNE, farm)
    states = {(shown.site, shown.kind): shown.state for shown in season.entries}
    assert any(shown.state is State.DONE and shown.site == "Alder" for shown in season.entries)
    assert states["Damson", "Weekly inspection"] is State.OVERDUE
    assert all(season.first <= shown.date <= season.last for shown in season.entries)
    (row,) = season.minutes
    assert row.visits == ((JUNE - dt.timedelta(days=9), 9.0),)  # 55 less 10 of set-up, for 5 hives


def test_the_page_draws_the_levels_that_the_due_dates_go_by(farm: Farm) -> None:
    """Around 3 September: the winter's level until the 4th, 20 kg from the 5th to the 30th, the winter's from October."""
    date = dt.date(2026, 9, 3)
    Log.open(farm.folder).add(Entry(date=dt.date(2026, 9, 1), site="A", kind="heft", stores_kg=14))
    (row,) = season_of(farm, date, farm).feed
    levels = dict(zip(row.dates, row.feed_below_kg, strict=True))
    days = (dt.date(2026, 9, 4), dt.date(2026, 9, 5), dt.date(2026, 9, 30), dt.date(2026, 10, 1))
    asked = Asked(farm, Log.record_of(farm.folder), date)
    winter = asked.season.due["winter-feed"].stores_below_kg
    assert winter is not None
    assert [levels[day] for day in days] == [winter.value, 20, 20, winter.value]
    alder = next(feed for feed in feed_outlook(asked, 6) if feed.site == "A")
    low = next(day for day, kg in zip(row.dates, row.low_kg, strict=True) if kg < (levels[day] or 0))
    assert alder.low_on == low
    assert min(item.due for item in due_items(asked) if item.site == "A" and item.kind == "syrup") == low


def test_the_commands_write_the_page_and_the_log(farm: Farm) -> None:
    runner = CliRunner()
    done = runner.invoke(app, ["season", str(farm.folder), "--on", JUNE.isoformat()])
    assert done.exit_code == 0, done.output
    page = (farm.folder / "season.html").read_text(encoding="utf-8")
    for site in ("Alder", "Birch", "Cherry", "Damson"):
        assert site in page
