"""What is seen on a visit makes work due: a farm each, with the rule that asks for it and what closes it."""

from __future__ import annotations

from pathlib import Path

import pytest

from routing.errors import FarmError
from routing.farm.models import Rank
from routing.season.due import Asked, DueItem, State, due_items
from routing.season.entries import Entry, Record
from tests.season.small_farm import day, done, make_farm

RULES = {
    "queen-cells": ("weekly-inspection", 7, 8, 'closed_by = ["requeen"]'),
    "queenless": ("requeen", 0, 7, 'closed_by = ["unite"]'),
    "hive-over": ("storm-check", 0, 0, 'hives = "seen"'),
    "lid-off": ("storm-check", 0, 0, 'hives = "seen"'),
    "robbing": ("entrance-blocks", 0, 1, ""),
    "dead-colony": ("unite", 0, 2, 'hives = "seen"'),
    "mouse-damage": ("mouse-guards", 0, 2, ""),
}
"""What is seen: the kind of work it asks for, from how many days on and by when, and what else the rule says."""


def rule(seen: str) -> str:
    """Return the table of farm.toml that asks for work where this was seen, at once and as a must."""
    kind, earliest, latest, more = RULES[seen]
    figure = '{{ value = {}, source = "invented for this test", confidence = "M" }}'
    return (
        f'[due.seen-{seen}]\njob = "{kind}"\nrank = "must"\nafter = "{seen}"\nsource = "invented for this test"\n'
        f"earliest_days = {figure.format(earliest)}\nlatest_days = {figure.format(latest)}\n{more}\n"
    )


def due(folder: Path, seen: str, on: str, *entries: Entry) -> list[DueItem]:
    farm = make_farm(folder, rule(seen))
    begin = done("cote", "heft", "2026-05-01", stores_kg=20)
    found = due_items(Asked(farm, Record(entries=(begin, *entries)), day(on)))
    return [item for item in found if item.rule == f"seen-{seen}"]


@pytest.mark.parametrize("seen", RULES)
def test_what_is_seen_makes_work_due_there_until_it_is_done(tmp_path: Path, seen: str) -> None:
    """Seen on 4 May in 2 colonies of Ash Bank: due there for those 2, by its day, and closed by the work."""
    kind, earliest, latest, _ = RULES[seen]
    visit = done("ash", "heft", "2026-05-04", stores_kg=20, seen=(seen,), seen_in={seen: 2})
    (item,) = due(tmp_path, seen, f"2026-05-{4 + earliest:02}", visit)
    assert (item.site, item.kind, item.hives, item.colonies) == ("ash", kind, 2, 10)
    assert (item.rank, item.state) == (Rank.MUST, State.DUE)
    assert item.due == day(f"2026-05-{4 + latest:02}")
    (late,) = due(tmp_path, seen, f"2026-05-{5 + latest:02}", visit)
    assert (late.state, late.days_overdue) == (State.OVERDUE, 1)
    answer = done("ash", kind, f"2026-05-{4 + earliest:02}", hives=2)
    assert due(tmp_path, seen, "2026-05-20", visit, answer) == []
    half = due(tmp_path, seen, "2026-05-20", visit, done("ash", kind, "2026-05-15", hives=1))
    assert [item.hives for item in half] == [1]


def test_another_kind_of_work_closes_it_where_the_rule_says_so(tmp_path: Path) -> None:
    visit = done("ash", "weekly-inspection", "2026-05-04", seen=("queenless",), seen_in={"queenless": 1})
    assert due(tmp_path, "queenless", "2026-05-06", visit, done("ash", "unite", "2026-05-05", hives=1)) == []
    assert len(due(tmp_path, "queenless", "2026-05-06", visit, done("ash", "heft", "2026-05-05", hives=1))) == 1


def test_a_number_that_was_not_said_is_one_hive_or_the_whole_site_as_the_rule_says(tmp_path: Path) -> None:
    (lid,) = due(tmp_path, "lid-off", "2026-05-04", done("ash", "heft", "2026-05-04", seen=("lid-off",)))
    assert lid.hives == 1
    assert "the number of hives was not said" in lid.why
    (mice,) = due(tmp_path, "mouse-damage", "2026-05-04", done("ash", "heft", "2026-05-04", seen=("mouse-damage",)))
    assert mice.hives == 10


def test_the_inspection_that_sees_cells_is_not_the_one_that_they_ask_for(tmp_path: Path) -> None:
    seen = done("ash", "weekly-inspection", "2026-05-04", seen=("queen-cells",), seen_in={"queen-cells": 1})
    assert len(due(tmp_path, "queen-cells", "2026-05-11", seen)) == 1
    assert due(tmp_path, "queen-cells", "2026-05-11", seen, done("ash", "weekly-inspection", "2026-05-11")) == []


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ('closed_by = ["sing"]', "closed_by"),
        ('closed_by = "unite"', "is not a list of job kinds"),
        ('hives = "some"', "is neither all nor seen"),
        ("needs_stores_kg = 1", "is neither true nor false"),
    ],
)
def test_a_rule_that_cannot_be_is_told_with_its_line(tmp_path: Path, more: str, told: str) -> None:
    with pytest.raises(FarmError, match=r"farm\.toml:\d+") as raised:
        make_farm(tmp_path, rule("robbing") + more + "\n")
    assert told in str(raised.value)


def test_only_what_follows_something_can_ask_for_as_many_hives_as_were_seen(tmp_path: Path) -> None:
    with pytest.raises(FarmError, match='hives = "seen" goes with after'):
        make_farm(tmp_path, '[due.oxalic]\nhives = "seen"\n')
