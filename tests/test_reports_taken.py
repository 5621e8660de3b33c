"""A report is taken for a round that this farm wrote, for what that round's page can tell, and for nothing else."""

from __future__ import annotations

import datetime as dt
import random
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from typer.testing import Result

from routing.errors import AskedError, OutyardError, ReportError
from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.season.entries import Entry
from routing.season.log import Log
from routing.season.sent_rounds import FILE, WrittenDay, WrittenJob, remember, written_days
from routing.share.exports.files import read_round
from routing.share.report.done import read_done
from routing.share.report.written_days import days_of
from routing.share.safety.private import share
from routing.stages.reports import entries_of, log_report, taken
from tests.season.small_farm import day, write_farm
from tests.season.test_commands import run

EXAMPLE = Path(__file__).parents[1] / "examples" / "four-sites"
JUNE = "2026-06-10"
NOON = f"{JUNE}T11:00:00Z"


@pytest.fixture(autouse=True)
def _later(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let today be after the round's day."""
    monkeypatch.setattr("routing.cli.done.today", lambda _farm: day("2027-01-01"))


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a farm folder with a round written by the command."""
    folder = shutil.copytree(
        EXAMPLE, tmp_path_factory.mktemp("planned") / "farm", ignore=shutil.ignore_patterns("rounds")
    )
    assert run("plan", folder, "--on", JUNE).exit_code == 0
    return folder


@pytest.fixture
def folder(planned: Path, tmp_path: Path) -> Path:
    return shutil.copytree(planned, tmp_path / "farm")


def the_day(folder: Path) -> WrittenDay:
    (found,) = written_days(folder).values()
    return found


def report_of(written: WrittenDay, ticked: Callable[[WrittenJob], bool] = lambda _job: True) -> str:
    """Return the text that the page of a day makes, the jobs in the order of the page."""
    lines = ["what-i-did: 1", f"round: {written.key}", f"crew: {written.crew}", f"date: {written.date}"]
    lines += [f"sent: {written.date}T17:00:00Z", ""]
    for job in written.jobs:
        lines += [f"site: {job.site}", f"done: {NOON} {job.told}" if ticked(job) else f"left: {job.told}"]
        lines += [f"kind: {job.kind}", *([f"hives: {job.hives} of {job.hives}"] if ticked(job) else [])]
    done = sum(map(ticked, written.jobs))
    return "\n".join([*lines, f"end: {done} done, {len(written.jobs) - done} left", ""])


def sent(folder: Path, text: str, *more: str | Path) -> Result:
    (folder / "sent.txt").write_text(text)
    return run("done", folder, folder / "sent.txt", *more)


def test_a_report_of_a_written_round_is_logged_once(folder: Path) -> None:
    text = report_of(the_day(folder))
    jobs = len(the_day(folder).jobs)
    assert f"Written to the log: {jobs} new" in sent(folder, text, "--log").stdout
    assert "Written to the log: 0 new" in sent(folder, text, "--log").stdout
    assert {entry.date for entry in Log.record_of(folder).entries} == {day(JUNE)}


def forgeries(text: str, key: str, job: WrittenJob) -> Iterator[tuple[str, str]]:
    """Yield each forged report with a word of the answer."""
    yield text.replace(key, "0123456789abcdef"), "none that this farm wrote"
    yield text.replace("crew: one", "crew: two"), 'crew "two" is not that of round'
    yield text.replace("crew: one", "crew: " + "x" * 5000), "crew"
    for date in ("0001-01-01", "1900-01-01", "9999-12-31", "2026-02-30", "\u0662026-06-10"):
        yield text.replace(f"date: {JUNE}", f"date: {date}"), "is not what that line holds"
        yield text.replace(f"sent: {JUNE}", f"sent: {date}"), "is not what that line holds"
        yield text.replace(NOON, f"{date}T11:00:00Z"), "is not a time and the id of a job"
    for date in ("2199-12-31", "2026-06-09", "2026-06-11", "1990-01-01"):
        yield text.replace(f"date: {JUNE}", f"date: {date}"), "is not the day of round"
        yield text.replace(NOON, f"{date}T11:00:00Z"), "not within its day"
    for time in (f"{JUNE}T23:00:00Z", "2026-06-09T22:59:59Z"):
        yield text.replace(NOON, time), "not within its day"
    yield text.replace(f"sent: {JUNE}", "sent: 2199-01-01"), "more than a year from its day"
    yield text.replace(f"{NOON} {job.told}", f"{NOON} jobs.csv:99"), '"jobs.csv:99" is none of round'
    yield text.replace(f"{NOON} {job.told}", f"{NOON} " + "j" * 300), "the id of a job"
    yield text.replace(f"{job.hives} of {job.hives}", "5000 of 5000"), "not 5000"
    yield text.replace(f"kind: {job.kind}", "kind: strips-in", 1), "is of kind"
    yield text.replace(f"site: {job.site}", "site: elsewhere", 1), 'site "elsewhere" is none of round'
    yield text.replace(f"site: {job.site}", "site: " + "s" * 300, 1), "is not the id of a site"
    yield text.replace("\n\n", "\n" * 40_000, 1), "too long to be a report"
    yield text.replace("\n\n", "\nnot so\n" * 2000, 1), "too many faults"
    yield text.replace("\n\n", "\n" + "# x\n" * 400_000, 1), "larger than 1 million bytes"
    yield text.replace("crew: one", "crew: \x1b[2Jone"), "\ufffd[2Jone"
    yield text.replace(f"site: {job.site}", "site: \x1b]0;x\x07", 1), "none of round"


def test_forged_reports_get_a_plain_no_and_nothing_is_written(folder: Path) -> None:
    """One line each, without anything in it that acts on a terminal; the log is not even begun."""
    written = the_day(folder)
    text = report_of(written)
    for forged, told in forgeries(text, written.key, written.jobs[0]):
        assert forged != text
        result = sent(folder, forged, "--log")
        assert (result.exit_code, told in result.output) == (2, True), result.output[:500]
        assert all(line.isprintable() and len(line) < 1000 for line in result.output.splitlines())
        assert len(result.output.splitlines()) <= 21
    assert not (folder / "log.sqlite").exists()


def test_a_report_can_be_piped_in_and_no_more_than_it_may_be_is_read(folder: Path) -> None:
    from typer.testing import CliRunner  # noqa: PLC0415 - only here is something piped in

    from routing.cli.app import app  # noqa: PLC0415

    runner = CliRunner()
    assert runner.invoke(app, ["done", str(folder), "-"], input=report_of(the_day(folder))).exit_code == 0
    result = runner.invoke(app, ["done", str(folder), "-"], input="x" * 1_000_001)
    assert (result.exit_code, "larger than 1 million bytes" in result.output) == (2, True)
    result = run("done", folder, "/dev/zero")
    assert (result.exit_code, "is not a file" in result.output) == (2, True)


def mutated(text: str, chance: random.Random) -> str:
    """Return a report with some lines of it lost, doubled, moved or with other words."""
    lines = text.splitlines()
    words = ("9999-12-31", "0001-01-01T00:00:00Z", "-1", "1e9", "\x1b[2J", "9" * 400, "\u202e", "nan", "0 of 0", "")
    for _ in range(chance.randrange(1, 4)):
        at = chance.randrange(len(lines))
        what = chance.randrange(6)
        if what == 0:
            del lines[at]
        elif what == 1:
            lines.insert(chance.randrange(len(lines)), lines[at])
        elif what == 2:
            lines[at] = lines[at].partition(":")[0] + ": " + chance.choice(words)
        elif what == 3:
            more = ("used: 1e9 fondant", "used: 12.5 fondant", "stores: 400", "stores: 9", "hives: 1 of 5", "note: x")
            lines.insert(at, chance.choice(more))
        elif what == 4:
            place = chance.randrange(len(lines[at]) + 1)
            lines[at] = lines[at][:place] + chance.choice(words) + lines[at][place + 1 :]
        else:
            lines[at] = lines[at].replace("done:", "part:").replace("11:00", f"{chance.randrange(30):02d}:00")
        lines = lines or [""]
    return "\n".join(lines)


def test_whatever_is_changed_in_a_report_it_is_taken_for_its_day_or_refused(folder: Path) -> None:
    """800 reports: each makes entries of its round's jobs, day and crew, for no more hives than planned, or faults."""
    farm, written = read_farm(folder), the_day(folder)
    planned = {(job.site, job.kind): job.hives for job in written.jobs}
    logged = 0
    for seed in range(800):
        text = mutated(report_of(written), random.Random(seed))
        try:
            report = taken(farm, read_done(text, "sent.txt"), "sent.txt")
            entries = entries_of(farm, report)
        except (ReportError, AskedError) as error:
            assert str(error).replace("\n", "").isprintable()  # noqa: PT017 - either way is right
            continue
        logged += 1
        for entry in entries:
            assert (entry.date, entry.crew) == (written.date, written.crew)
            assert (entry.hives or 0) <= planned[entry.site, entry.kind]
    assert logged > 100


def other_plan(written: WrittenDay, hives: int | None = None) -> WrittenDay:
    jobs = tuple(job.model_copy(update={"hives": hives or job.hives}) for job in written.jobs)
    return written.model_copy(update={"key": "f" * 16, "jobs": jobs})


def test_the_same_work_reported_from_two_plans_of_a_day_is_logged_once(folder: Path) -> None:
    first = the_day(folder)
    remember(folder, (other_plan(first),))
    assert sent(folder, report_of(first), "--log").exit_code == 0
    before = Log.record_of(folder)
    result = sent(folder, report_of(other_plan(first)), "--log")
    assert (result.exit_code, "would log it twice" in result.output) == (2, True)
    assert Log.record_of(folder) == before


def test_what_was_left_of_a_job_may_be_done_under_another_plan_of_the_day(folder: Path) -> None:
    """3 of 5 hives by the first plan, the other 2 by the second: 5 together, as planned."""
    first = the_day(folder)
    job = first.jobs[0]
    second = other_plan(first, job.hives - 3)
    remember(folder, (second,))
    text = report_of(first.model_copy(update={"jobs": (job,)}))
    text = text.replace("done: 2", "part: 2").replace(f"{job.hives} of", "3 of").replace("1 done, 0", "0 done, 1")
    assert sent(folder, text, "--log").exit_code == 0
    rest = second.model_copy(update={"jobs": second.jobs[:1]})
    assert "Written to the log: 1 new" in sent(folder, report_of(rest), "--log").stdout
    assert sum(entry.hives or 0 for entry in Log.record_of(folder).entries) == job.hives


def test_a_second_report_of_a_day_adds_what_was_ticked_since(folder: Path) -> None:
    written = the_day(folder)
    half = report_of(written, lambda job: job == written.jobs[0])
    assert "Written to the log: 1 new" in sent(folder, half, "--log").stdout
    rest = len(written.jobs) - 1
    assert f"Written to the log: {rest} new" in sent(folder, report_of(written), "--log").stdout
    changed = report_of(written).replace("\nend:", "\nnote: other words\nend:")
    result = sent(folder, changed, "--log")
    assert (result.exit_code, "log undo" in result.output) == (2, True)


def test_a_round_that_is_not_remembered_is_found_in_the_folder_or_named(folder: Path, tmp_path: Path) -> None:
    text = report_of(the_day(folder))
    (folder / FILE).unlink()
    assert sent(folder, text).exit_code == 0
    saved = (folder / "rounds" / JUNE / "round.json").rename(tmp_path / "round.json")
    result = sent(folder, text, "--log")
    assert (result.exit_code, "--round" in result.output) == (2, True)
    assert sent(folder, text, "--log", "--round", saved).exit_code == 0
    for wrong in (folder / "farm.toml", tmp_path, tmp_path / "none"):
        assert sent(folder, text, "--round", wrong).exit_code == 2


def test_a_report_of_a_day_to_come_is_not_logged(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("routing.cli.done.today", lambda _farm: day("2026-06-09"))
    result = sent(folder, report_of(the_day(folder)), "--log")
    assert (result.exit_code, "still to come" in result.output) == (2, True)


def test_a_damaged_line_of_what_was_written_is_no_day_and_the_others_hold(folder: Path) -> None:
    written = the_day(folder)
    with (folder / FILE).open("ab") as file:
        file.write(b'{"key": "00\xff\n\n[]\nnull\n{"key": "0123456789abcdef", "crew": "x"')
    remember(folder, (other_plan(written),))
    assert set(written_days(folder)) == {written.key, "f" * 16}
    before = (folder / FILE).read_bytes()
    remember(folder, (written, other_plan(written)))
    assert (folder / FILE).read_bytes() == before


def test_a_folder_that_takes_no_note_of_the_round_says_what_it_means(folder: Path) -> None:
    (folder / FILE).unlink()
    (folder / FILE).mkdir()
    result = run("plan", folder, "--on", JUNE)
    assert (result.exit_code, "outyard done --round" in result.stderr) == (0, True)
    assert sent(folder, "what-i-did: 1").exit_code == 2


def test_pages_under_nicknames_and_plain_ones_are_both_known(folder: Path) -> None:
    """Both have one key; a report of either makes entries at the true sites."""
    plain = the_day(folder)
    assert run("plan", folder, "--on", JUNE, "--nicknames").exit_code == 0
    shown = share(read_round(folder / "rounds" / JUNE / "round.json"), read_farm(folder), nicknames=True).round
    (page,) = days_of(shown)
    text = report_of(page)
    assert page.key == plain.key
    assert text != report_of(plain)
    assert set(the_day(folder).sites) == {*plain.sites, *page.sites}
    assert sent(folder, report_of(plain)).exit_code == 0
    assert sent(folder, text, "--log").exit_code == 0
    assert {entry.site for entry in Log.record_of(folder).entries} == {job.site for job in plain.jobs}


@pytest.fixture
def long_names(tmp_path: Path) -> Farm:
    """Return a farm with a site whose id has 54 characters, so that a due date there has 72."""
    site = "s" * 54
    return read_farm(write_farm(tmp_path, sites=f"id,name,place,hives\n{site},Ash Bank,52.02 -2.72,10\n"))


def long_report(key: str, date: str) -> str:
    job = f"due:mouse-guards:{'s' * 54}"
    head = f"what-i-did: 1\nround: {key}\ncrew: ash\ndate: {date}\nsent: {date}T17:00:00Z\n\n"
    return f"{head}site: {'s' * 54}\ndone: {date}T11:00:00Z {job}\nkind: mouse-guards\n\nend: 1 done, 0 left\n"


def test_reports_of_two_rounds_at_a_site_with_a_long_id_are_two(long_names: Farm) -> None:
    """The key of the round stands whole in the name of an entry, however long the job's own name is."""
    reports = [read_done(long_report(key * 16, date)) for key, date in (("a", "2026-10-10"), ("b", "2026-10-24"))]
    assert [log_report(long_names, report) for report in reports] == [1, 1]
    assert [log_report(long_names, report) for report in reports] == [0, 0]


def test_what_was_logged_under_a_name_cut_at_its_beginning_is_not_logged_again(long_names: Farm) -> None:
    report = read_done(long_report("a" * 16, "2026-10-10"))
    (entry,) = entries_of(long_names, report)
    cut = f"{'a' * 16} due:mouse-guards:{'s' * 54}"[-60:]
    Log.open(long_names.folder).add(Entry.model_validate({**entry.model_dump(), "reference": cut}))
    assert log_report(long_names, report) == 0


def test_who_comes_home_after_midnight_may_tick_after_midnight(folder: Path) -> None:
    """Home at 1:30: ticks until 7:30 are of that day."""
    farm, written = read_farm(folder), the_day(folder)
    late = dt.datetime.fromisoformat("2026-06-11T00:30:00+00:00")
    remember(folder, (written.model_copy(update={"key": "e" * 16, "home": late}),))
    for time, holds in (("2026-06-11T06:29:59Z", True), ("2026-06-11T06:30:00Z", False)):
        text = report_of(written).replace(written.key, "e" * 16).replace(NOON, time)
        try:
            taken(farm, read_done(text), "sent.txt")
            assert holds
        except OutyardError:
            assert not holds
