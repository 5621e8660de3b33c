"""Medicine and supers are never planned together at a site, by the log, by what is due and by jobs.csv."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from routing.cli.app import app
from routing.errors import AskedError
from routing.farm.models import Farm
from routing.season.entries import Entry, Record
from routing.season.keep_apart import kept_apart, still_there
from routing.season.log import Log
from routing.stages import due as due_stage
from routing.stages import plan as plan_stage
from tests.season.small_farm import day, done, items, make_farm, write_farm

RULES = '[due.supers-on]\nstarts = "08-01"\nby = "08-25"\nends = "09-30"\n'
"""So that supers and strips are due at the same time."""


def planned(farm: Farm, entries: tuple[Entry, ...], on: str) -> tuple[set[tuple[str, str]], list[str]]:
    """Write the log; return the due jobs that are left on a date, by site and kind, and the warnings that are new."""
    Log.open(farm.folder).add_all(entries)
    due = due_stage.with_due(farm, day(on))
    kept = kept_apart(due, Record(entries=entries), day(on))
    assert kept.warnings[: len(due.warnings)] == due.warnings
    return {(job.site, job.kind) for job in kept.jobs}, [str(one) for one in kept.warnings[len(due.warnings) :]]


def test_no_supers_where_strips_are_in_by_the_log(tmp_path: Path) -> None:
    """Strips in at Ash Bank since 1 April and not out: on 1 May supers are due at all three, and planned at two."""
    farm = make_farm(tmp_path)
    jobs, told = planned(farm, (done("ash", "strips-in", "2026-04-01"),), "2026-05-08")
    assert {site for site, kind in jobs if kind == "supers-on"} == {"beck", "cote"}
    (line,) = told
    assert "Supers on at Ash Bank may not be beside Medicine strips in, logged on 2026-04-01" in line
    assert "with no Medicine strips out since" in line
    assert "label decides" in line
    assert "log strips-out if it was done" in line


@pytest.mark.parametrize(("partly", "sites"), [(False, {"ash", "beck", "cote"}), (True, {"beck", "cote"})])
def test_strips_are_in_until_all_are_out(tmp_path: Path, *, partly: bool, sites: set[str]) -> None:
    entries = (done("ash", "strips-in", "2026-03-01"), done("ash", "strips-out", "2026-04-15", partly=partly))
    jobs, _ = planned(make_farm(tmp_path), entries, "2026-05-08")
    assert {site for site, kind in jobs if kind == "supers-on"} == sites


def test_no_strips_where_supers_are_on_by_the_log(tmp_path: Path) -> None:
    """Supers on since May and never off at Beck Side: on 25 August strips are due everywhere, and not planned there."""
    entries = (
        *(done(site, "supers-on", "2026-05-01") for site in ("ash", "beck", "cote")),
        *(done(site, "supers-off", "2026-08-03") for site in ("ash", "cote")),
    )
    jobs, told = planned(make_farm(tmp_path), entries, "2026-08-25")
    assert {site for site, kind in jobs if kind == "strips-in"} == {"ash", "cote"}
    assert any("log supers-off if it was done" in line for line in told)


def test_of_two_that_are_due_the_worse_is_planned(tmp_path: Path) -> None:
    """Strips are a must and supers a want: strips are planned, supers told as not planned."""
    jobs, told = planned(make_farm(tmp_path, RULES), (done("cote", "unite", "2026-08-01"),), "2026-08-20")
    assert {site for site, kind in jobs if kind == "strips-in"} == {"ash", "beck", "cote"}
    assert not [site for site, kind in jobs if kind == "supers-on"]
    assert len([line for line in told if "wanted there too" in line]) == 3


def test_a_row_of_the_farmers_own_wins_over_what_is_due(tmp_path: Path) -> None:
    farm = make_farm(tmp_path, jobs="site,kind\nash,supers-more\n")
    jobs, _ = planned(farm, (done("cote", "unite", "2026-08-01"),), "2026-08-20")
    assert {site for site, kind in jobs if kind == "strips-in"} == {"beck", "cote"}
    assert ("ash", "supers-more") in jobs


def test_a_row_that_the_log_forbids_is_refused_with_its_line(tmp_path: Path) -> None:
    """The whole plan is refused, as for hives moved from a suspect site, and says what to do; a later row waits."""
    farm = make_farm(tmp_path, jobs="site,kind,not_before\nash,supers-more,\nbeck,supers-more,2026-06-01\n")
    Log.open(tmp_path).add_all((done("ash", "strips-in", "2026-04-01"), done("beck", "strips-in", "2026-04-01")))
    with pytest.raises(AskedError) as caught:
        plan_stage.plan(farm, day("2026-05-08"))
    (line,) = str(caught.value).splitlines()
    assert line.startswith("jobs.csv:2: Another super on at Ash Bank may not be beside Medicine strips in")
    assert "label decides" in line


def test_strips_in_some_hives_leave_the_others_free(tmp_path: Path) -> None:
    """Three of the ten hives have strips: supers for seven may go on, for eight they may not."""
    Log.open(tmp_path).add_all((done("ash", "strips-in", "2026-04-01", hives=3),))
    rows = "site,kind,hives\nash,supers-on,{}\n"
    taken, *_ = plan_stage.prepared(make_farm(tmp_path, jobs=rows.format(7)), day("2026-05-08"))
    assert [job.hives for job in taken.jobs if (job.site, job.kind) == ("ash", "supers-on")] == [7]
    with pytest.raises(AskedError, match="may not be beside"):
        plan_stage.prepared(make_farm(tmp_path, jobs=rows.format(8)), day("2026-05-08"))


def test_what_is_logged_later_is_not_known_yet(tmp_path: Path) -> None:
    farm = make_farm(tmp_path)
    record = Record(entries=(done("ash", "strips-in", "2026-08-10"),))
    assert still_there(farm, record, day("2026-08-09")) == {}
    assert list(still_there(farm, record, day("2026-08-10"))) == [("ash", "strips-in")]


def test_a_farm_without_a_log_is_planned_as_it_stands(tmp_path: Path) -> None:
    farm = make_farm(tmp_path, jobs="site,kind\nash,supers-on\n")
    assert plan_stage.plan(farm, day("2026-05-08")).itineraries


def listed(farm: Farm, entries: tuple[Entry, ...], on: str) -> dict[tuple[str, str], str]:
    """Return what everything of the due list waits for, by rule and site; empty texts are for what can be done."""
    return {key: item.waits for key, item in items(farm, entries, on).items()}


def test_the_due_list_tells_supers_after_the_strips_are_out(tmp_path: Path) -> None:
    """Strips in at Ash Bank on 1 April may come out from 13 May, 42 days on, to 27 May: supers there wait for that."""
    found = listed(make_farm(tmp_path), (done("ash", "strips-in", "2026-04-01"),), "2026-05-08")
    assert found["supers-on", "ash"] == (
        "after Medicine strips out (due 2026-05-13 to 2026-05-27): Medicine strips in was logged on 2026-04-01"
    )
    assert found["supers-on", "beck"] == ""
    out = (done("ash", "strips-in", "2026-03-01"), done("ash", "strips-out", "2026-05-01"))
    assert listed(make_farm(tmp_path), out, "2026-05-08")["supers-on", "ash"] == ""


def test_the_due_list_tells_strips_after_the_supers_are_off(tmp_path: Path) -> None:
    """Boards in on 24 August, supers off 1 to 3 days on: strips wait at Beck Side for that, and are due at the others."""
    entries = (
        *(done(site, "supers-on", "2026-05-01") for site in ("ash", "beck", "cote")),
        *(done(site, "supers-off", "2026-08-03") for site in ("ash", "cote")),
        done("beck", "clearer-boards", "2026-08-24"),
    )
    found = listed(make_farm(tmp_path), entries, "2026-08-24")
    assert {site for (rule, site), waits in found.items() if rule == "strips-in" and not waits} == {"ash", "cote"}
    assert found["strips-in", "beck"].startswith("after Supers off (due 2026-08-25 to 2026-08-27): Supers on ")


def test_of_two_that_are_due_the_list_tells_the_lower_rank_after_the_other(tmp_path: Path) -> None:
    """Strips are a must: supers, a want, come after they are out again, and make no site one to visit today."""
    found = listed(make_farm(tmp_path, RULES), (done("cote", "unite", "2026-08-01"),), "2026-08-20")
    assert found["strips-in", "ash"] == ""
    assert found["supers-on", "ash"] == "after Medicine strips out: Medicine strips in is due here too and comes first"


def test_the_due_list_on_the_terminal_never_lists_both_as_due(tmp_path: Path) -> None:
    write_farm(tmp_path)
    Log.open(tmp_path).add_all((done("ash", "strips-in", "2026-04-01"), done("beck", "strips-in", "2026-04-01")))
    shown = CliRunner().invoke(app, ["due", str(tmp_path), "--on", "2026-05-08"]).stdout
    due, _, later = " ".join(shown.split()).partition("Not yet: one after the other")
    assert "[supers-on], want, by 2026-05-10: Cote End" in due
    assert "[supers-on], want, after Medicine strips out (due 2026-05-13 to 2026-05-27)" in later
    assert "Ash Bank, Beck Side" in later
