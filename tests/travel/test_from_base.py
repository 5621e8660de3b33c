"""What is known from the drives of the base alone, before any drive between two sites."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from routing.farm.models import DriveBand, KnownDrive
from routing.planning.ask import fit as fitting
from routing.planning.ask.fit import too_full
from routing.planning.explain.quickest import QuickestWays
from routing.planning.explain.reasons import certain_reasons
from routing.planning.model.build_instance import build_instance
from routing.round import FitProof
from routing.stages import ask as ask_stage
from routing.stages import plan as plan_stage
from routing.travel import farm as travelled
from routing.travel.farm import farm_and_base_legs, farm_and_legs
from routing.travel.straight import direct_is_quickest
from tests.random_farms import random_farm

SEEDS = range(500, 530)


def test_the_direct_way_is_quickest_where_a_longer_line_takes_no_longer_a_metre() -> None:
    rules = random_farm(1)[0].rules
    assert direct_is_quickest(rules)
    near, far = rules.drive_bands[0], rules.drive_bands[-1]
    slower = DriveBand(straight_km=far.straight_km + 50, detour_factor=far.detour_factor, speed_kmh=near.speed_kmh / 2)
    assert not direct_is_quickest(rules.model_copy(update={"drive_bands": (*rules.drive_bands, slower)}))


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_certain_needs_the_drives_from_base_alone(seed: int) -> None:
    """Ways from base and home, and every certain reason, are those of the whole matrix."""
    farm, date = random_farm(seed)
    farm = farm.model_copy(update={"known_drives": (), "jobs": tuple(job for job in farm.jobs if not job.to)})
    base = farm_and_base_legs(farm)
    assert base is not None
    few, whole = build_instance(*base, (date,)), build_instance(*farm_and_legs(farm), (date,))
    assert certain_reasons(few) == certain_reasons(whole)
    ways, all_ways = QuickestWays(few), QuickestWays(whole)
    for route in range(len(whole.problem.routes)):
        for place in range(len(farm.sites) + 1):
            assert ways.out(route, place) == all_ways.out(route, place)
            assert ways.back(route, place) == all_ways.back(route, place)


def test_a_known_drive_or_hives_that_are_moved_need_the_matrix(monkeypatch: pytest.MonkeyPatch) -> None:
    farm, date = random_farm(500)
    known = KnownDrive(start="base", end=farm.sites[0].id, minutes=5)
    assert farm_and_base_legs(farm.model_copy(update={"known_drives": (known,)})) is None
    monkeypatch.setattr(ask_stage, "MOST_SEARCHED", 0)
    monkeypatch.setattr(ask_stage, "too_full", lambda days: pytest.fail(f"asked of {len(days.jobs)} jobs"))
    moved = farm.jobs[0].model_copy(update={"to": farm.sites[-1].id})
    assert ask_stage._by_sums(farm.model_copy(update={"jobs": (moved,)}), date) is None


@pytest.mark.parametrize("seed", SEEDS)
def test_sums_say_no_only_where_the_whole_answer_is_no(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """With crews whose day is cut to an hour many farms are too full; not one that is said to be holds everything."""
    farm, date = random_farm(seed)
    hour = [
        crew.model_copy(
            update={"home_by": (dt.datetime.combine(date, crew.earliest_start) + dt.timedelta(hours=3)).time()}
        )
        for crew in farm.crews
    ]
    farm = farm.model_copy(
        update={"crews": tuple(hour), "known_drives": (), "jobs": tuple(job for job in farm.jobs if not job.to)}
    )
    whole = ask_stage.fit(farm, date)
    base = farm_and_base_legs(farm)
    assert base is not None
    monkeypatch.setattr(fitting, "MOST_SEARCHED", 0)
    sums = too_full(build_instance(*base, (date,)))
    if sums is not None:
        assert not sums.fits
        assert sums.proof in {FitProof.BOUND, FitProof.CERTAIN}
        assert not whole.fits
        assert not any("joins them" in line for line in sums.lines)


def test_drives_from_base_are_those_of_the_matrix() -> None:
    farm, _ = random_farm(511)
    base = farm_and_base_legs(farm.model_copy(update={"known_drives": ()}))
    assert base is not None
    whole = farm_and_legs(farm.model_copy(update={"known_drives": ()}))[1]
    assert (base[1].seconds[0] == whole.seconds[0]).all()
    assert (base[1].metres[:, 0] == whole.metres[:, 0]).all()
    off = ~np.eye(len(whole.places), dtype=bool)[1:, 1:]
    assert (base[1].seconds[1:, 1:][off] < 0).all()


def test_sites_without_a_job_are_set_aside_before_any_drive_is_known(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a farm of many sites; what is planned, and every word of it, is the same."""
    farm, date = random_farm(517)
    wanted = farm.model_copy(update={"jobs": farm.jobs[:2], "known_drives": ()})
    before = plan_stage.plan(wanted, date)
    monkeypatch.setattr(travelled, "MOST_WIDE", 1)
    needed = travelled.with_needed_sites(wanted)
    assert {site.id for site in needed.sites} == {end for job in wanted.jobs for end in (job.site, job.to) if end}
    assert len(needed.sites) < len(wanted.sites)
    assert plan_stage.plan(wanted, date) == before
