"""A row of jobs.csv is done when its work is logged: never planned twice, and said where the plan is read."""

from __future__ import annotations

from pathlib import Path

import pytest

from routing.farm.models import Job
from routing.season.entries import Entry, Record
from routing.season.log import Log
from routing.stages import due as due_stage
from routing.stages import plan as plan_stage
from tests.season.small_farm import day, done, make_farm

FED = done("ash", "fondant", "2026-11-28", materials={"fondant": 25})


def left(folder: Path, rows: str, on: str, *entries: Entry) -> tuple[list[Job], list[str]]:
    """Return what is left of the rows on a date, and what is said of them."""
    farm = make_farm(folder, jobs=rows)
    asked = due_stage.asked(farm, day(on), Record(entries=entries))
    return list(asked.farm.jobs), [str(told) for told in asked.farm.warnings[len(farm.warnings) :]]


def test_a_logged_row_is_done_and_the_plan_says_so(tmp_path: Path) -> None:
    """Fed on the 28th: on the 1st nothing is fed again, and the plan says which row to take out."""
    farm = make_farm(tmp_path, jobs="site,kind,rank\nash,fondant,must\n")
    Log.open(tmp_path).add_all((done("ash", "heft", "2026-11-27", stores_kg=15), FED))
    round_ = plan_stage.plan(farm, day("2026-12-01"))
    stops = [stop.jobs for crew in round_.itineraries for stop in crew.stops]
    gone = [gone.jobs for gone in round_.left_out]
    assert not [job for jobs in (*stops, *gone) for job in jobs if job.kind == "fondant"]
    assert any(
        text.startswith("jobs.csv:2: is done: Feed fondant at Ash Bank was logged 28 November 2026; take the row out")
        for text in round_.warnings
    )


@pytest.mark.parametrize(
    ("row", "on", "logged", "open_"),
    [
        # No day: what was logged within the year closes it, and what is not its kind or its site does not.
        ("ash,fondant,,,", "2026-12-01", done("ash", "fondant", "2026-11-27"), False),
        ("ash,fondant,,,", "2026-12-01", done("beck", "fondant", "2026-11-27"), True),
        ("ash,fondant,,,", "2026-12-01", done("ash", "heft", "2026-11-27"), True),
        ("ash,fondant,,,", "2027-12-01", done("ash", "fondant", "2026-11-27"), True),
        ("ash,unite,,,", "2026-12-01", done("ash", "unite", "2026-04-27"), False),
        # No day and a rule once a season: only since the season began; guards of last autumn close nothing.
        ("ash,mouse-guards,,,", "2026-10-10", done("ash", "mouse-guards", "2025-10-20"), True),
        ("ash,mouse-guards,,,", "2026-10-10", done("ash", "mouse-guards", "2026-10-01"), False),
        # From not_before and promised on; where a rule may bring it forward, from a week before.
        ("ash,unite,2026-09-10,,", "2026-09-12", done("ash", "unite", "2026-09-09"), True),
        ("ash,unite,2026-09-10,,", "2026-09-12", done("ash", "unite", "2026-09-10"), False),
        ("ash,unite,,,2026-09-10", "2026-09-12", done("ash", "unite", "2026-09-10"), False),
        ("ash,fondant,2026-12-01,,", "2026-12-01", done("ash", "fondant", "2026-11-27"), False),
        ("ash,fondant,2026-12-01,,", "2026-12-01", done("ash", "fondant", "2026-11-20"), True),
        ("ash,weekly-inspection,2026-06-12,,", "2026-06-12", done("ash", "weekly-inspection", "2026-06-11"), True),
        ("ash,oxalic,2026-12-10,,", "2026-12-12", done("ash", "oxalic", "2026-11-28"), False),
        # due_by alone: since the season before ended, the last interval, or four weeks.
        ("ash,mouse-guards,,2026-10-20,", "2026-08-20", done("ash", "mouse-guards", "2026-08-12"), False),
        ("ash,mouse-guards,,2026-10-20,", "2026-08-20", done("ash", "mouse-guards", "2026-02-12"), True),
        ("ash,weekly-inspection,,2026-06-12,", "2026-06-12", done("ash", "weekly-inspection", "2026-06-05"), True),
        ("ash,weekly-inspection,,2026-06-12,", "2026-06-12", done("ash", "weekly-inspection", "2026-06-06"), False),
        ("ash,fondant,,2026-12-10,", "2026-12-01", done("ash", "fondant", "2026-11-12"), False),
        ("ash,fondant,,2026-12-10,", "2026-12-01", done("ash", "fondant", "2026-11-11"), True),
        # What comes later, was only begun, or is a heft without kilograms.
        ("ash,fondant,,,", "2026-11-26", done("ash", "fondant", "2026-11-27"), True),
        ("ash,fondant,,,", "2026-12-01", done("ash", "fondant", "2026-11-27", partly=True), True),
        ("ash,heft,,,", "2026-12-01", done("ash", "heft", "2026-11-27"), True),
        ("ash,heft,,,", "2026-12-01", done("ash", "heft", "2026-11-27", stores_kg=9), False),
    ],
)
def test_which_entries_close_a_row(tmp_path: Path, row: str, on: str, logged: Entry, *, open_: bool) -> None:
    jobs, told = left(tmp_path, f"site,kind,not_before,due_by,promised\n{row}\n", on, logged)
    assert bool(jobs) == open_
    assert bool(told) != open_


def test_hives_close_as_far_as_they_go(tmp_path: Path) -> None:
    """3 and 2 of 6 hives are fed: one is left; then a seventh would be one too many."""
    parts = (done("ash", "fondant", "2026-11-27", hives=3), done("ash", "fondant", "2026-11-28", hives=2))
    jobs, told = left(tmp_path, "site,kind,hives,note\nash,fondant,6,by the hedge\n", "2026-12-01", *parts)
    assert [(job.hives, job.note) for job in jobs] == [(1, "5 of 6 done; by the hedge")]
    (line,) = told
    assert line.startswith("jobs.csv:2: is done in part: Feed fondant at Ash Bank was logged for 5 of 6 hives, ")
    assert line.endswith("last on 28 November 2026; still to do: 1")
    more = (*parts, done("ash", "fondant", "2026-11-29", hives=2))
    assert left(tmp_path, "site,kind,hives\nash,fondant,6\n", "2026-12-01", *more)[0] == []


def test_an_entry_counts_once_for_two_rows_of_the_same_work(tmp_path: Path) -> None:
    """4 hives fed close the row for 3 and one of the other's 5."""
    rows = "site,kind,hives\nash,fondant,3\nash,fondant,5\n"
    jobs, _ = left(tmp_path, rows, "2026-12-01", done("ash", "fondant", "2026-11-27", hives=4))
    assert [(job.id, job.hives) for job in jobs] == [("jobs.csv:3", 4)]
    assert left(tmp_path, rows, "2026-12-01", done("ash", "fondant", "2026-11-27"))[0] == []


def test_a_move_closes_the_row_that_goes_to_the_same_site(tmp_path: Path) -> None:
    moved = done("ash", "move-hives", "2026-11-27", hives=4, note="moved to beck. gate stiff")
    rows = "site,kind,hives,to\nash,move-hives,4,cote\nash,move-hives,4,beck\n"
    assert [job.to for job in left(tmp_path, rows, "2026-12-01", moved)[0]] == ["cote"]


def test_a_done_row_orders_nothing_again(tmp_path: Path) -> None:
    """Guards for the 10 hives of the row and for 8 and 12 by the rule; once the row is done those 10 are not ordered."""
    from routing.season.shopping import shopping_list  # noqa: PLC0415

    farm = make_farm(tmp_path, jobs="site,kind\nash,mouse-guards\n")
    entries = (done("cote", "unite", "2026-09-01"), done("ash", "mouse-guards", "2026-10-02"))

    def guards(*logged: Entry) -> list[float]:
        lines = shopping_list(due_stage.asked(farm, day("2026-10-05"), Record(entries=logged)), 3)
        return [line.needed for line in lines if line.material == "mouse-guard"]

    assert guards(entries[0]) == [30]
    assert guards(*entries) == [20]
