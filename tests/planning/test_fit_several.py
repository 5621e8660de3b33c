"""`fit` for two crews: yes with an order, no by arithmetic, and no by a bound over every way to share the work out."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from routing.farm.folder import read_farm
from routing.planning.model.build_instance import build_instance
from routing.planning.plan import fit_day, plan_days
from routing.round import FitProof
from routing.travel.farm import farm_legs
from tests.farm_of_twenty import write_farm
from tests.together import then_deep

DATE = dt.date(2026, 12, 10)
SECOND = (
    '[[vehicle]]\nid = "other"\nname = "Other van"\npayload_kg = 900\nspace_litres = 6000\n'
    '[[crew]]\nid = "two"\nname = "Two"\npeople = 1\nvehicle = "other"\nearliest_start = "06:30"\nhome_by = "19:00"\n'
    "break_minutes = 20\nbreak_after_hours = 6\n"
)


@pytest.mark.parametrize(
    ("seed", "hives", "proof"),
    then_deep([(1, 6, FitProof.ORDER), (2, 12, FitProof.SHARED), (3, 11, FitProof.BOUND)], [(1, 12, FitProof.SHARED)]),
)
def test_two_crews_get_a_yes_or_a_no_that_is_proved(tmp_path: Path, seed: int, hives: int, proof: FitProof) -> None:
    """Twenty sites within a quarter of an hour's drive or so, more hives a site from row to row."""
    write_farm(tmp_path, seed, hives=hives, spread=0.15, jobs=1, hours=0.2)
    with (tmp_path / "farm.toml").open("a", encoding="utf-8") as text:
        text.write(SECOND)
    farm = read_farm(tmp_path)
    days = build_instance(farm, farm_legs(farm), (DATE,))
    answer = fit_day(days)
    assert answer.proof is proof
    assert answer.fits is (proof is FitProof.ORDER)
    if proof is FitProof.SHARED:
        assert "no way to share the work out" in answer.lines[1]
        assert not plan_days(days).all_done
