"""What a remedy or a what-if changes in the farm's files, kind by kind: just that is written, or it is said in words.

The farm is the example of four sites with home by 12:00, 240 minutes: A B C take 150 + 50 = 200, D does not fit in. With
30 minutes more all four take 270 (see its farm.toml).
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

from routing import stages
from routing.desk.edits import Edits
from routing.desk.kept_in_files import changes_of_offer
from routing.desk.planner import Offer, Offered
from routing.desk.rewriting import preview, write
from routing.errors import AskedError
from routing.planning.ask.remedied import remedied
from routing.round import Insertion, LeftOut, Remedy, RemedyKind, Round, Shortfall
from routing.share.wording.file_changes import REST_FIRST, STALE
from routing.stages.file_changes import FileChanges, between, put_off

JUNE, NEXT = dt.date(2026, 6, 10), dt.date(2026, 6, 11)


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
