"""A report that comes back goes into the log as what was done: so many hives, so much used, and no more than that."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from routing.errors import AskedError
from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.season.due import TO_PLAN, due_items
from routing.season.log import Log
from routing.season.outlook import feed_outlook
from routing.season.sent_rounds import WrittenDay, WrittenJob, remember
from routing.share.report.done import Done, read_done
from routing.stages import due as due_stage
from routing.stages.reports import as_reported, closes_nothing, entries_of, log_report
from tests.season.small_farm import day, done, write_farm
from tests.season.test_commands import run

HEAD = "what-i-did: 1\nround: 0123456789abcdef\ncrew: ash\ndate: 2026-12-02\nsent: 2026-12-02T16:00:00Z\n\n"
TIME = "2026-12-02T11:00:00Z"


def text(*lines: str, ended: str) -> str:
    return HEAD + "\n".join(lines) + f"\n\nend: {ended}\n"


@pytest.fixture
def farm(tmp_path: Path) -> Farm:
    """Return the small farm with hungry colonies at Ash Bank (10 hives, 4 kg) and a row that asks to feed them."""
    write_farm(tmp_path, jobs="site,kind,rank\nash,fondant,must\nbeck,heft,\n")
    Log.open(tmp_path).add(done("ash", "heft", "2026-12-01", stores_kg=4))
    return read_farm(tmp_path)


def due_at(farm: Farm, site: str, kind: str, on: str = "2026-12-04") -> list[int]:
    """Return the hives that are due or overdue for a kind at a site."""
    items = due_items(due_stage.asked(farm, day(on)))
    return [item.hives for item in items if (item.site, item.kind) == (site, kind) and item.state in TO_PLAN]


def test_what_is_ticked_as_fed_is_fed(farm: Farm) -> None:
    """What was loaded for 10 hives is used, as many helpings as the plan had: no feed is due, and the row is done.

    None is ordered before the bees can have taken that down.
    """
    assert due_at(farm, "ash", "fondant") == [10]
    (planned,) = [job for job in due_stage.with_due(farm, day("2026-12-02")).jobs if job.kind == "fondant"]
    loaded = 2.5 * 10 * planned.helpings
    log_report(farm, read_done(text("site: ash", f"done: {TIME} jobs.csv:2", ended="1 done, 0 left")))
    entry = Log.record_of(farm.folder).entries[-1]
    assert (entry.kind, entry.hives, entry.materials) == ("fondant", 10, {"fondant": loaded})
    assert due_at(farm, "ash", "fondant") == []
    asked = due_stage.asked(farm, day("2026-12-04"))
    assert [job.kind for job in asked.farm.jobs] == ["heft"]
    wait = dt.timedelta(days=asked.season.feed.days_between_feeds.value)
    feeds = {feed.site: feed.feedings for feed in feed_outlook(asked, 1)}
    assert all(feeding.date >= day("2026-12-02") + wait for feeding in feeds["ash"])


def test_an_amount_that_the_report_says_goes_before_what_was_loaded(farm: Farm) -> None:
    lines = ("site: ash", f"done: {TIME} jobs.csv:2", "kind: fondant", "hives: 10 of 10", "used: 12.5 fondant")
    (entry,) = entries_of(farm, read_done(text(*lines, ended="1 done, 0 left")))
    assert entry.materials == {"fondant": 12.5}
    gold = text(*lines[:-1], "used: 1 gold", ended="1 done, 0 left")
    with pytest.raises(AskedError, match='material "gold"'):
        entries_of(farm, read_done(gold))


def some_fed(hives: int) -> Done:
    lines = ("site: ash", f"part: {TIME} jobs.csv:2", "kind: fondant", f"hives: {hives} of 10", "note: rain came")
    return read_done(text(*lines, ended="0 done, 1 left"))


def test_9_of_10_fed_leaves_one_due(farm: Farm) -> None:
    log_report(farm, some_fed(9))
    entry = Log.record_of(farm.folder).entries[-1]
    assert (entry.hives, entry.partly, entry.note) == (9, True, "rain came")
    assert entry.materials["fondant"] % (9 * 2.5) == 0
    assert due_at(farm, "ash", "fondant") == [1]
    (row,) = [job for job in due_stage.asked(farm, day("2026-12-04")).farm.jobs if job.kind == "fondant"]
    assert row.hives == 1


def test_some_hives_fed_with_another_amount_each_count_with_that(farm: Farm) -> None:
    """9 of 10 at 2 kg each are 18 kg: that is what the log, the stores and the next order know, and one hive is left."""
    lines = ("site: ash", f"part: {TIME} jobs.csv:2", "kind: fondant", "hives: 9 of 10", "used: 18 fondant")
    log_report(farm, read_done(text(*lines, ended="0 done, 1 left")))
    entry = Log.record_of(farm.folder).entries[-1]
    assert (entry.hives, entry.partly, entry.materials) == (9, True, {"fondant": 18.0})
    assert due_at(farm, "ash", "fondant") == [1]
    (ash,) = [feed for feed in feed_outlook(due_stage.asked(farm, day("2026-12-03")), 1) if feed.site == "ash"]
    assert ash.now is not None
    assert ash.now.mean_kg == pytest.approx(4 + 18 / 10, abs=0.3)


def test_a_ticked_part_of_a_job_leaves_the_other_part_due(farm: Farm) -> None:
    """`part 1 of 3` of 10 hives has 4 of them, the others 3 each."""
    report = read_done(text("site: ash", f"done: {TIME} jobs.csv:2 part 1 of 3", ended="1 done, 0 left"))
    assert [entry.hives for entry in entries_of(farm, report)] == [4]
    log_report(farm, report)
    assert due_at(farm, "ash", "fondant") == [6]


def test_a_due_date_that_was_planned_is_known_by_its_rule(farm: Farm) -> None:
    id_ = "due:mouse-guards:cote"
    report = read_done(text("site: cote", f"done: {TIME} {id_}", "left: due:gone-rule:cote", ended="1 done, 1 left"))
    assert [(entry.kind, entry.site, entry.hives) for entry in entries_of(farm, report)] == [
        ("mouse-guards", "cote", 12)
    ]
    assert [job.id for job in as_reported(farm, report).jobs] == [id_]


def test_a_row_that_was_changed_since_is_refused(farm: Farm) -> None:
    """A row was taken out above it, so the second row is another job now: nothing is logged for the wrong one."""
    for lines in (
        ("site: beck", f"done: {TIME} jobs.csv:2", "kind: heft", "hives: 8 of 8"),
        ("site: cote", f"done: {TIME} jobs.csv:2", "kind: fondant", "hives: 10 of 10"),
    ):
        with pytest.raises(AskedError, match="log it by hand"):
            entries_of(farm, read_done(text(*lines, ended="1 done, 0 left")))


def test_a_ticked_heft_without_kilograms_stays_due_and_that_is_said(farm: Farm) -> None:
    bare = read_done(text("site: beck", f"done: {TIME} jobs.csv:3", ended="1 done, 0 left"))
    told = closes_nothing(farm, bare)
    assert told[0].startswith("Heft and check stores at Beck Side has no kilograms, so it stays due")
    log_report(farm, bare)
    assert due_at(farm, "beck", "heft") == [8]
    weighed = read_done(text("site: beck", f"done: {TIME} jobs.csv:3", "stores: 21.5", ended="1 done, 0 left"))
    assert closes_nothing(farm, weighed) == ()
    Log.open(farm.folder).undo()
    log_report(farm, weighed)
    assert Log.record_of(farm.folder).entries[-1].stores_kg == 21.5
    assert due_at(farm, "beck", "heft") == []


def test_the_same_report_goes_in_again_after_it_was_undone(farm: Farm) -> None:
    assert [log_report(farm, some_fed(9)), log_report(farm, some_fed(9))] == [1, 0]
    Log.open(farm.folder).undo()
    assert due_at(farm, "ash", "fondant") == [10]
    assert log_report(farm, some_fed(9)) == 1
    assert due_at(farm, "ash", "fondant") == [1]


def test_the_command_reads_says_and_logs_it(farm: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("routing.cli.done.today", lambda _farm: day("2026-12-03"))
    jobs = (
        WrittenJob(told="jobs.csv:2", id="jobs.csv:2", site="ash", kind="fondant", hives=10),
        WrittenJob(told="jobs.csv:3", id="jobs.csv:3", site="beck", kind="heft", hives=8),
    )
    home = dt.datetime(2026, 12, 2, 16, tzinfo=dt.UTC)
    written = WrittenDay(
        key="0123456789abcdef", crew="ash", date=day("2026-12-02"), home=home, sites=("ash", "beck"), jobs=jobs
    )
    remember(farm.folder, (written,))
    sent = farm.folder / "sent.txt"
    lines = ("site: ash", f"part: {TIME} jobs.csv:2", "kind: fondant", "hives: 9 of 10")
    sent.write_text(text(*lines, "site: beck", f"done: {TIME} jobs.csv:3", ended="1 done, 1 left"))
    result = run("done", farm.folder, sent, "--log")
    told = " ".join(result.stdout.split())
    assert "1 job done, 1 in part, 0 left" in told
    assert "9 of 10 hives done, at 11:00: Feed fondant, 10 hives (jobs.csv:2)" in told
    assert "Written to the log: 2 new" in told
    assert "Heft and check stores at Beck Side has no kilograms" in told
    assert "not in the farm folder" not in result.output
    assert "Written to the log: 0 new" in run("done", farm.folder, sent, "--log").stdout
