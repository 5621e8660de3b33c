"""Remedies and what-ifs written into the farm's files: exactly the lines that are shown, or said in words.

The farm is the example of four sites with home by 12:00, 240 minutes: A B C take 150 + 50 = 200, D does not fit in. With
30 minutes more all four take 270 (see its farm.toml).
"""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from routing import stages
from routing.desk.edits import Edits
from routing.desk.kept_in_files import changes_of_offer
from routing.desk.planner import Offer, Offered
from routing.desk.rewriting import preview, write
from routing.errors import AskedError
from routing.farm.models import Farm
from routing.planning.ask.remedied import remedied
from routing.round import Insertion, LeftOut, Remedy, RemedyKind, Round, Shortfall
from routing.share.wording.file_changes import REST_FIRST, STALE
from routing.stages.file_changes import FileChanges, between, put_off
from tests.conftest import HOLLIN_VALE
from tests.desk.served import Served, served, violations

JUNE, NEXT = dt.date(2026, 6, 10), dt.date(2026, 6, 11)
WHERE = {"on": JUNE.isoformat(), "days": 1}
FONDANT = "\n[stock]\nfondant = 2   # boxes in the shed\n"


def short_day(folder: Path) -> Path:
    """Return a copy of the four sites in which one does not fit in."""
    shutil.copytree(HOLLIN_VALE.parent / "four-sites", folder, ignore=shutil.ignore_patterns("rounds"))
    file = folder / "farm.toml"
    text = file.read_text(encoding="utf-8").replace('home_by = "13:00"', 'home_by = "12:00"  # the school run')
    file.write_text(text.replace("\n[job_kind.", FONDANT + "\n[job_kind."), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Round]:
    """Return that farm with its round written; nothing is changed in it."""
    folder = short_day(tmp_path_factory.mktemp("short") / "farm")
    farm = stages.read.farm_in(folder)
    round_ = stages.plan.plan(farm, JUNE)
    stages.write.write_plan(farm, round_)
    return folder, round_


@pytest.fixture
def folder(planned: tuple[Path, Round], tmp_path: Path) -> Path:
    return shutil.copytree(planned[0], tmp_path / "farm")


@pytest.fixture
def desk(folder: Path, tmp_path: Path) -> Iterator[Served]:
    with served(folder, tmp_path) as one:
        yield one


def left_of(round_: Round, *short: Shortfall) -> LeftOut:
    """Return D as it is left out, short of these things."""
    (left,) = round_.left_out
    insertion = Insertion(crew="one", date=JUNE, after="C", extra_seconds=4200, shortfalls=short)
    return left.model_copy(update={"insertion": insertion})


def remedy(kind: RemedyKind, amount: float) -> Remedy:
    return Remedy(kind=kind, amount=amount, text=kind.value)


HELD = [
    (RemedyKind.EARLIER_START, 1800.0, (), ['earliest_start = "08:00"', 'earliest_start = "07:30"']),
    (RemedyKind.LATER_HOME, 1800.0, (), ['home_by = "12:00"  # the school run', 'home_by = "12:30"  # the school run']),
    (RemedyKind.MORE_PEOPLE, 1.0, (), ["people = 1", "people = 2"]),
    (RemedyKind.MORE_TRIPS, 1.0, (), ["a new line", "trips_a_day = 3"]),
    (
        RemedyKind.MORE_STOCK,
        12.5,
        (Shortfall(what="stock of Fondant", amount=12.5, unit="kg"),),
        ["fondant = 2   # boxes in the shed", "fondant = 14.5   # boxes in the shed"],
    ),
]


@pytest.mark.parametrize(("kind", "amount", "short", "told"), HELD)
def test_what_a_file_holds_is_shown_then_written_so_that_the_farm_says_just_that_and_undone_to_the_byte(
    planned: tuple[Path, Round],
    folder: Path,
    kind: RemedyKind,
    amount: float,
    short: tuple[Shortfall, ...],
    told: list[str],
) -> None:
    farm, edits = stages.read.farm_in(folder), Edits(folder)
    before = (folder / "farm.toml").read_bytes()
    wanted = remedied(farm, left_of(planned[1], *short), remedy(kind, amount))
    assert wanted is not None
    changes = between(farm, wanted.farm)
    assert changes.may_be_written
    seen = preview(edits, changes)
    assert len(seen.lines) == 1
    assert seen.lines[0].startswith("farm.toml, line ")
    assert all(" ".join(each.split()) in seen.lines[0] for each in told)  # shown with single spaces
    assert (folder / "farm.toml").read_bytes() == before
    write(edits, changes, seen.base, kind.value)
    now = stages.read.farm_in(folder)
    assert between(now, wanted.farm) == FileChanges()
    assert between(farm, now) == changes
    after = (folder / "farm.toml").read_text(encoding="utf-8").splitlines()
    old = before.decode().splitlines()
    assert [line for line in old if line not in after] == ([] if "a new line" in told else [told[0]])
    line = int(seen.lines[0].partition("line ")[2].partition(":")[0].partition(",")[0])
    assert after[line - 1] == told[1]
    assert edits.undo().kept
    assert (folder / "farm.toml").read_bytes() == before


def test_no_file_makes_a_vehicle_carry_more_or_work_go_quicker_and_that_is_said(
    planned: tuple[Path, Round], folder: Path
) -> None:
    """A number in a file would not make the van stronger: an overloaded one is a danger on the road."""
    farm = stages.read.farm_in(folder)
    for what in ("payload", "space"):
        left = left_of(planned[1], Shortfall(what=what, amount=30, unit="kg"))
        wanted = remedied(farm, left, remedy(RemedyKind.OTHER_VEHICLE, 30))
        assert wanted is not None
        changes = between(farm, wanted.farm)
        assert not changes.may_be_written
        assert "No file makes Van carry more" in changes.unheld[0]
    for ask in (stages.ask.Changes(payload_kg=50), stages.ask.Changes(slower=-10)):
        (*_, (_, changed)) = stages.ask.as_if(farm, ask)
        assert not between(farm, changed).may_be_written
    (*_, (_, both)) = stages.ask.as_if(farm, stages.ask.Changes(people=1, slower=-10))
    found = between(farm, both)
    assert found.settings
    assert not found.may_be_written
    assert "learned from what is logged" in found.unheld[0]


def test_what_if_is_written_for_every_crew(folder: Path) -> None:
    farm, edits = stages.read.farm_in(folder), Edits(folder)
    asked = stages.ask.Changes(earlier=15, home_by=dt.time(12, 45), people=2)
    (*_, (_, wanted)) = stages.ask.as_if(farm, asked)
    changes = between(farm, wanted)
    seen = preview(edits, changes)
    assert [line.rpartition(" becomes ")[2] for line in seen.lines] == [
        "people = 3",
        'earliest_start = "07:45"',
        'home_by = "12:45" # the school run',
    ]
    write(edits, changes, seen.base, "What if")
    assert between(stages.read.farm_in(folder), wanted) == FileChanges()


def test_fewer_hives_at_once_part_the_row_so_that_the_others_stay_wanted(
    planned: tuple[Path, Round], folder: Path
) -> None:
    file = folder / "jobs.csv"
    file.write_text("note,site,kind,hives,rank,mine\nold gate,D,weekly-inspection,5,want,x\n", encoding="utf-8")
    before, edits = file.read_bytes(), Edits(folder)
    farm = stages.read.farm_in(folder)
    (job,) = farm.jobs
    left = left_of(planned[1])
    left = left.model_copy(update={"jobs": tuple(one.model_copy(update={"id": job.id}) for one in left.jobs)})
    wanted = remedied(farm, left, remedy(RemedyKind.LIGHTER_LOAD, 3))
    assert wanted is not None
    changes = between(farm, wanted.farm)
    seen = preview(edits, changes)
    assert seen.lines == (
        "jobs.csv, line 2 (D, weekly-inspection), hives: 5 becomes 3",
        "jobs.csv, a new row: site D, kind weekly-inspection, hives 2, rank want, note old gate",
    )
    write(edits, changes, seen.base, "fewer")
    rows = [
        "note,site,kind,hives,rank,mine",
        "old gate,D,weekly-inspection,3,want,x",
        "old gate,D,weekly-inspection,2,want,",
    ]
    assert file.read_text(encoding="utf-8").splitlines() == rows
    assert sorted(one.hives for one in stages.read.farm_in(folder).jobs) == [2, 3]
    assert edits.undo().kept
    assert file.read_bytes() == before


def test_a_row_is_put_off_by_its_not_before_unless_it_is_promised_or_due_sooner(folder: Path) -> None:
    file = folder / "jobs.csv"
    head = "site,kind,not_before,due_by,promised\n"
    file.write_text(
        f"{head}A,weekly-inspection,,,\nB,weekly-inspection,,{NEXT},\nC,weekly-inspection,,{JUNE},\n"
        f"D,weekly-inspection,,,{JUNE}\n",
        encoding="utf-8",
    )
    farm = stages.read.farm_in(folder)
    jobs = {job.site: job.id for job in farm.jobs}
    held = put_off(farm, [jobs["A"], jobs["B"]], JUNE, NEXT)
    assert held.may_be_written
    assert held.cells == {2: {"not_before": str(NEXT)}, 3: {"not_before": str(NEXT)}}
    for site, words in (("C", f"is due by {JUNE}"), ("D", f"is promised for {JUNE}")):
        refused = put_off(farm, [jobs["A"], jobs[site]], JUNE, NEXT)
        assert not refused.may_be_written
        assert words in refused.unheld[0]
    assert not put_off(farm, ["jobs.csv:99"], JUNE, NEXT).may_be_written
    assert put_off(farm, [f"{jobs['A']} part 1 of 2", f"{jobs['A']} part 2 of 2"], JUNE, NEXT).cells.keys() == {2}


def test_a_due_date_of_a_rule_is_held_up_by_a_row_and_no_longer_than_to_its_own_day(folder: Path) -> None:
    """The farm has no row and no log: with the row an empty log is begun, so that nothing else is silenced."""
    (folder / "jobs.csv").unlink()
    farm, edits = stages.read.farm_in(folder), Edits(folder)
    wanted = stages.due.to_plan(farm, JUNE).jobs
    job = next(one for one in wanted if one.due_by is not None and one.due_by >= NEXT)
    changes = put_off(farm, [job.id], JUNE, NEXT)
    assert changes.may_be_written
    assert changes.begins_log
    stages.taken.begin_log(farm)
    write(edits, changes, preview(edits, changes).base, "put off")
    now = stages.due.to_plan(stages.read.farm_in(folder), JUNE).jobs
    (held,) = [one for one in now if (one.site, one.kind) == (job.site, job.kind)]
    assert held.not_before == NEXT
    assert (held.hives, held.due_by, held.rank) == (job.hives, job.due_by, job.rank)
    assert {(one.site, one.kind) for one in now} == {(one.site, one.kind) for one in wanted}
    too_late = put_off(farm, [job.id], JUNE, job.due_by + dt.timedelta(days=1)) if job.due_by else FileChanges()
    assert "a row cannot begin after its due date" in too_late.unheld[0]


def test_a_file_that_changed_meanwhile_is_not_written(planned: tuple[Path, Round], folder: Path) -> None:
    farm, edits = stages.read.farm_in(folder), Edits(folder)
    wanted = remedied(farm, left_of(planned[1]), remedy(RemedyKind.MORE_PEOPLE, 1))
    assert wanted is not None
    changes = between(farm, wanted.farm)
    base = preview(edits, changes).base
    file = folder / "farm.toml"
    file.write_bytes(file.read_bytes() + b"# mine\n")
    before = file.read_bytes()
    with pytest.raises(AskedError, match="changed elsewhere"):
        write(edits, changes, base, "x")
    rows = FileChanges(cells={2: {"note": "x"}})
    with pytest.raises(AskedError, match="changed meanwhile"):
        write(edits, rows, base, "x")
    assert file.read_bytes() == before


def test_what_makes_the_farm_faulty_is_refused_in_the_readers_words_and_nothing_is_written(folder: Path) -> None:
    edits, before = Edits(folder), (folder / "farm.toml").read_bytes()
    changes = FileChanges(settings={("crew", 0, "people"): 21})
    with pytest.raises(AskedError, match="people"):
        write(edits, changes, preview(edits, changes).base, "x")
    rows = FileChanges(cells={2: {"hives": "none"}})
    with pytest.raises(AskedError, match="none"):
        write(edits, rows, preview(edits, rows).base, "x")
    assert (folder / "farm.toml").read_bytes() == before
    assert replace(changes, unheld=("so",)).may_be_written is False


def test_what_is_left_out_instead_is_put_off_in_the_files_but_not_while_something_else_is_assumed(
    planned: tuple[Path, Round], folder: Path
) -> None:
    """A is left out for D: its row begins on the next day. With an earlier start assumed too, that is to be written first."""
    farm, beside = stages.read.farm_in(folder), planned[1]
    (day,) = beside.itineraries
    without = day.model_copy(update={"stops": tuple(stop for stop in day.stops if stop.site != "A")})
    one = Offered("", farm, beside.model_copy(update={"itineraries": (without,)}), ())
    offer = Offer("D", beside, (one,), farm, RemedyKind.LEAVE_OUT, ("jobs.csv:5",))
    held = changes_of_offer(farm, (JUNE,), offer, 0)
    assert held.may_be_written
    assert held.cells == {2: {"not_before": str(NEXT)}}
    crews = (farm.crews[0].model_copy(update={"earliest_start": dt.time(7)}),)
    assumed = replace(offer, rows=(replace(one, farm=farm.model_copy(update={"crews": crews})),))
    assert changes_of_offer(farm, (JUNE,), assumed, 0).unheld == (REST_FIRST,)
    assert changes_of_offer(farm.model_copy(update={"name": "Other"}), (JUNE,), offer, 0).unheld == (STALE,)


def panel(page: Page) -> None:
    page.locator(".plan-trial").wait_for(state="attached")
    page.locator("#plan-seconds").fill("5")


def farm_now(desk: Served) -> Farm:
    return desk.desk.farm()


@pytest.mark.parametrize("width", [360, 1280])
def test_from_tomorrows_list_a_remedy_shows_its_price_and_is_written_by_keyboard_and_undone(
    desk: Served, browser: Browser, width: int
) -> None:
    file = desk.desk.folder / "farm.toml"
    before = file.read_bytes()
    with desk.opened(browser, width) as opened:
        page = opened.page(f"/tomorrow?on={JUNE}")
        panel(page)
        list_ = page.locator("#left-out-section")
        list_.get_by_role("button", name="What it would cost, for Damson: 30 min later home").press("Enter")
        page.locator(".plan-offer").wait_for(timeout=60_000)
        told = page.locator(".plan-offer").inner_text()
        assert "All 3 musts before dark; the one want." in told
        assert 'home_by = "12:00" # the school run becomes home_by = "12:30" # the school run' in told
        assert file.read_bytes() == before
        assert violations(page) == {}
        page.get_by_role("button", name="Write this into the farm's files").press("Enter")
        page.get_by_text("Written to farm.toml: Damson: 30 min later home.").first.wait_for()
        assert farm_now(desk).crews[0].home_by == dt.time(12, 30)
        page.locator(".plan-trial").wait_for()
        assert "As if" not in page.locator("#plan-panel").inner_text()
        assert violations(page) == {}
        page.get_by_role("button", name="Keep this").press("Enter")
        page.get_by_text("round.json").first.wait_for()
        found = stages.written.written_plan(farm_now(desk), JUNE)
        assert found is not None
        assert {stop.site for stop in found.itineraries[0].stops} == set("ABCD")
        page.goto(f"{desk.desk.access.origin}/tomorrow?on={JUNE}")
        page.get_by_role("button", name="Undo in the files: Damson").press("Enter")
        page.get_by_text("Undone: Damson").wait_for()
        assert file.read_bytes() == before


def test_what_is_taken_as_if_is_written_after_and_then_may_be_kept(desk: Served, browser: Browser) -> None:
    with desk.opened(browser) as opened:
        page = opened.page(f"/tomorrow?on={JUNE}")
        panel(page)
        page.locator("#left-out-section button", has_text="30 min earlier start").click()
        page.get_by_role("button", name="Take this").click(timeout=60_000)
        page.get_by_text("As if: ").wait_for()
        assert page.get_by_role("button", name="Keep this").is_disabled()
        page.get_by_role("button", name="Write this into the farm's files").click()
        page.get_by_text("Written to farm.toml").first.wait_for()
        assert page.get_by_role("button", name="Keep this").is_enabled()
    assert farm_now(desk).crews[0].earliest_start == dt.time(7, 30)


def test_another_day_is_written_as_a_row_that_begins_then(desk: Served, browser: Browser) -> None:
    with desk.opened(browser) as opened:
        page = opened.page(f"/tomorrow?on={JUNE}")
        panel(page)
        page.locator("#left-out-section button", has_text="do it on Thursday").click()
        page.locator(".plan-offer").wait_for(timeout=60_000)
        told = page.locator(".plan-offer").inner_text()
        assert f"jobs.csv, line 5 (D, weekly-inspection), not before: empty becomes {NEXT}" in told
        page.get_by_role("button", name="Write this into the farm's files").click()
        page.get_by_text("Changed since this round was written").wait_for()
    (job,) = [one for one in farm_now(desk).jobs if one.site == "D"]
    assert job.not_before == NEXT


def offered(desk: Served) -> str:
    """Ask for the price of the later home, and return the digest that the page would send."""
    asked = {**WHERE, "seen": 0, "for": "remedy", "number": 0, "remedy": 1, "seconds": 5}
    assert desk.post("/plan/search", asked).status == 200
    assert desk.get("/plan/progress").text
    text = desk.get(f"/plan/panel?on={JUNE}").text
    return text.partition('data-base="')[2].partition('"')[0]


def test_two_tabs_and_an_editor_lose_nothing_and_a_full_disk_leaves_what_was_there(
    desk: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = desk.desk.folder / "farm.toml"
    base, before = offered(desk), file.read_bytes()
    assert base

    def full(*_args: object, **_named: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr("routing.desk.files.saving.write_new", full)
        refused = desk.post("/plan/files", {**WHERE, "row": 0, "base": base})
        assert (refused.status, file.read_bytes()) == (422, before)
        assert "No space left" in refused.json["lines"][0]
    file.write_bytes(before + b"# mine\n")
    refused = desk.post("/plan/files", {**WHERE, "row": 0, "base": base})
    assert (refused.status, file.read_bytes()) == (422, before + b"# mine\n")
    file.write_bytes(before.replace(b"people = 1", b"people = 2"))
    refused = desk.post("/plan/files", {**WHERE, "row": 0, "base": base})
    assert refused.status == 422
    assert "The farm's files were changed since this was planned" in refused.json["lines"][0]
    file.write_bytes(before)
    assert desk.post("/plan/files", {**WHERE, "row": 0, "base": base}).status == 200
    again = desk.post("/plan/files", {**WHERE, "row": 0, "base": base})
    assert again.status == 422
    assert "not offered any more" in again.json["lines"][0]


def test_nothing_is_written_that_is_not_shown(desk: Served) -> None:
    before = (desk.desk.folder / "farm.toml").read_bytes()
    for fields in ({"row": 0}, {"row": 7}, {"row": "x"}, {"row": None, "seen": 99}, {"row": None, "seen": 0}):
        assert desk.post("/plan/files", {**WHERE, "base": "", **fields}).status == 422
    offered(desk)
    assert desk.post("/plan/files", {**WHERE, "row": 0, "base": "0" * 64}).status == 422
    wrong = {**WHERE, "seen": 0, "for": "remedy", "number": 0, "remedy": 0, "words": "something else"}
    assert desk.post("/plan/search", wrong).status == 422
    assert (desk.desk.folder / "farm.toml").read_bytes() == before


def test_hostile_names_stand_in_the_preview_as_text(tmp_path: Path, browser: Browser) -> None:
    folder = short_day(tmp_path / "farm")
    file = folder / "farm.toml"
    name = "<script>alert(1)</script>"
    file.write_text(file.read_text(encoding="utf-8").replace('name = "One"', f'name = "{name}"'), encoding="utf-8")
    farm = stages.read.farm_in(folder)
    stages.write.write_plan(farm, stages.plan.plan(farm, JUNE))
    with served(folder, tmp_path) as desk:
        offered(desk)
        with desk.opened(browser) as opened:
            page = opened.page(f"/tomorrow?on={JUNE}")
            page.locator(".plan-offer").wait_for()
            assert "<script>alert(1)</script>" in page.locator(".plan-offer").inner_text()
