"""A part is a part: what was done at some hives leaves the rest due, and no more than the rest."""

from __future__ import annotations

from pathlib import Path

import pytest

from routing.farm.models import Farm
from routing.season.due import DueItem, State
from routing.season.entries import Entry, Record
from routing.season.jobs import with_due_jobs
from routing.stages import due as due_stage
from tests.season.small_farm import day, done, items, make_farm

SPRING = done("cote", "unite", "2026-06-01")


@pytest.fixture
def farm(tmp_path: Path) -> Farm:
    """Return the small farm: Ash Bank has 10 hives."""
    return make_farm(tmp_path)


def at_ash(farm: Farm, rule: str, on: str, *entries: Entry) -> DueItem | None:
    return items(farm, (SPRING, *entries), on).get((rule, "ash"))


def test_guards_at_6_of_10_hives_leave_4_due_and_the_next_4_close_it(farm: Farm) -> None:
    some = done("ash", "mouse-guards", "2026-10-10", hives=6)
    item = at_ash(farm, "mouse-guards", "2026-10-20", some)
    assert item is not None
    assert (item.hives, item.colonies, item.due, item.state) == (4, 10, day("2026-10-24"), State.DUE)
    asked = due_stage.asked(farm, day("2026-10-20"), Record(entries=(SPRING, some)))
    (job,) = [job for job in with_due_jobs(asked).jobs if (job.site, job.kind) == ("ash", "mouse-guards")]
    assert (job.hives, job.note[:21]) == (4, "4 of 10 hives left; D")
    rest = done("ash", "mouse-guards", "2026-10-12", hives=4)
    found = at_ash(farm, "mouse-guards", "2026-10-20", some, rest)
    assert found is None or found.due > day("2027-01-01")


def test_a_job_only_begun_counts_for_the_hives_that_it_names_and_else_for_none(farm: Farm) -> None:
    begun = done("ash", "mouse-guards", "2026-10-10", partly=True)
    named = done("ash", "mouse-guards", "2026-10-10", partly=True, hives=6)
    for entry, left in ((begun, 10), (named, 4)):
        item = at_ash(farm, "mouse-guards", "2026-10-20", entry)
        assert item is not None
        assert item.hives == left


def test_an_inspection_in_two_parts_is_done_from_the_first_of_them_on(farm: Farm) -> None:
    """6 hives on Friday 1 May and 4 on Sunday the 3rd: all within the week, so the next is due on the 8th."""
    parts = (
        done("ash", "weekly-inspection", "2026-05-01", hives=6),
        done("ash", "weekly-inspection", "2026-05-03", hives=4),
    )
    begin = done("cote", "unite", "2026-04-01")
    first = items(farm, (begin, parts[0]), "2026-05-04")["weekly-inspection", "ash"]
    assert (first.hives, first.due) == (4, day("2026-04-20"))
    both = items(farm, (begin, *parts), "2026-05-04")["weekly-inspection", "ash"]
    assert (both.hives, both.due) == (10, day("2026-05-08"))


def test_a_part_older_than_the_interval_is_due_again_with_the_rest(farm: Farm) -> None:
    begin = done("cote", "unite", "2026-04-01")
    old = done("ash", "weekly-inspection", "2026-05-01", hives=6)
    assert items(farm, (begin, old), "2026-05-08")["weekly-inspection", "ash"].hives == 10


def test_strips_come_out_of_the_hives_that_they_went_into(farm: Farm) -> None:
    """In at 3 hives on 10 August and at 2 on the 20th; out at 3 on 1 October: the 2 are due 56 days after the 20th."""
    strips = (
        done("ash", "strips-in", "2026-08-10", hives=3),
        done("ash", "strips-in", "2026-08-20", hives=2),
    )
    before = at_ash(farm, "strips-out", "2026-10-01", *strips)
    after = at_ash(farm, "strips-out", "2026-10-02", *strips, done("ash", "strips-out", "2026-10-01", hives=3))
    assert before is not None
    assert after is not None
    assert (before.due, before.hives) == (day("2026-10-05"), 5)
    assert (after.due, after.hives) == (day("2026-10-15"), 2)


def test_a_check_at_some_hives_counts_for_every_storm_before_it(farm: Farm) -> None:
    storms = (done("ash", "storm", "2026-11-10"), done("ash", "storm", "2026-11-12"))
    checks = (done("ash", "storm-check", "2026-11-13", hives=6), done("ash", "storm-check", "2026-11-14", hives=4))
    some = at_ash(farm, "storm-check", "2026-11-15", *storms, checks[0])
    assert some is not None
    assert some.hives == 4
    assert at_ash(farm, "storm-check", "2026-11-15", *storms, *checks) is None


def test_fed_hives_do_not_feed_the_others(farm: Farm) -> None:
    """At 4 kg all 10 hives are due. 6 of them get 5 kg each: 30 kg, on average 3 kg a hive, and 4 hives got none."""
    heft = done("ash", "heft", "2026-12-01", stores_kg=4)
    some = done("ash", "fondant", "2026-12-02", hives=6, materials={"fondant": 30})
    rest = done("ash", "fondant", "2026-12-03", hives=4, materials={"fondant": 20})
    item = at_ash(farm, "winter-feed", "2026-12-04", heft, some)
    assert item is not None
    assert (item.hives, item.due, item.state) == (4, day("2026-12-01"), State.OVERDUE)
    fed = at_ash(farm, "winter-feed", "2026-12-04", heft, some, rest)
    assert fed is None or fed.due > day("2026-12-04")


def test_a_heft_without_kilograms_does_not_close_the_heft(farm: Farm) -> None:
    bare = at_ash(farm, "heft", "2026-11-20", done("ash", "heft", "2026-11-18"))
    told = at_ash(farm, "heft", "2026-11-20", done("ash", "heft", "2026-11-18", stores_kg=20))
    assert bare is not None
    assert told is not None
    assert (bare.state, bare.due) == (State.OVERDUE, day("2026-10-01"))
    assert told.due == day("2026-12-02")


def test_what_is_done_a_little_before_its_season_counts_for_it(farm: Farm) -> None:
    """Guards are wanted from 25 September; on 10 September they are on for this autumn, on 1 August for none."""
    early = at_ash(farm, "mouse-guards", "2026-10-20", done("ash", "mouse-guards", "2026-09-10"))
    assert early is None
    assert at_ash(farm, "mouse-guards", "2026-10-20", done("ash", "mouse-guards", "2026-08-01")) is not None


def test_work_of_one_season_does_not_count_for_the_next_of_another_rule(tmp_path: Path) -> None:
    """Queens in spring until 15 May and again from 1 June: those of 10 May are the spring's, of 20 May the summer's."""
    rule = '[due.queen-{}]\njob = "requeen"\nstarts = "{}"\nby = "{}"\nends = "{}"\n'
    more = rule.format("spring", "04-01", "05-01", "05-15") + rule.format("summer", "06-01", "06-20", "07-15")
    farm = make_farm(tmp_path, more)
    begin = done("cote", "unite", "2026-03-20")
    for date, rest in (("2026-05-10", 10), ("2026-05-20", 0)):
        found = items(farm, (begin, done("ash", "requeen", date)), "2026-06-18")
        assert [item.hives for (rule_, site), item in found.items() if (rule_, site) == ("queen-summer", "ash")] == [
            rest
        ] * bool(rest)


def test_hives_fed_too_little_are_due_again_with_those_not_fed(tmp_path: Path) -> None:
    """7 kg at Ash on 1 December; on the 2nd 6 of 10 are fed, and get a week to take it down.

    With 1 kg each they are due again on the 9th with the other 4; with 12.5 kg each only the 4 are.
    """
    farm = make_farm(tmp_path)
    due = {}
    for each in (1.0, 12.5):
        entries = (
            done("ash", "heft", "2026-12-01", stores_kg=7),
            done("ash", "fondant", "2026-12-02", hives=6, partly=True, materials={"fondant": 6 * each}),
        )
        due[each] = [items(farm, entries, on)["winter-feed", "ash"].hives for on in ("2026-12-04", "2026-12-09")]
    assert due == {1.0: [4, 10], 12.5: [4, 4]}
