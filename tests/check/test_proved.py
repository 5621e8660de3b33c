"""Bounds are held to what the round itself reaches, and best to the bounds."""

from __future__ import annotations

from typing import Any

import pytest

from routing.check import broken_promises
from routing.farm.models import Farm, Rank
from routing.round import Proof, Round
from tests.check.good_round import BY_RANK
from tests.check.naive_round import naive_round
from tests.check.small_farm import FARM, LEFT, LEGS, ORDERS, WEDNESDAY, farm_with


def proved(farm: Farm = FARM, **change: object) -> Round:
    round_ = naive_round(farm, LEGS, WEDNESDAY, ORDERS, LEFT)
    facts: dict[str, object] = {"optimal": False, "text": "In words.", **change}
    return round_.model_copy(update={"proof": Proof.model_validate(facts)})


def names(round_: Round, promise: str, farm: Farm = FARM) -> bool:
    return any(promise in sentence for sentence in broken_promises(round_, farm, LEGS))


AWAY = sum(day.away_seconds for day in proved().itineraries)
NOW, MUST, WANT, PASSING = BY_RANK


@pytest.mark.parametrize(
    "bounds",
    [(), BY_RANK, (1, 0, 0, 0), (NOW, MUST + 1, 0, 0), (NOW, MUST, WANT + 30, 0), (NOW, MUST, WANT, PASSING + 7)],
)
def test_a_bound_that_is_passed_by_nothing_is_good(bounds: tuple[int, ...]) -> None:
    """After the first rank in which more might be served, the other ranks mean nothing."""
    assert broken_promises(proved(rank_bounds=bounds, away_bound_seconds=AWAY - 1), FARM, LEGS) == ()


@pytest.mark.parametrize(
    "bounds", [(NOW, MUST - 1, WANT, PASSING), (NOW, MUST, WANT - 1, PASSING), (NOW, MUST, WANT, 0)]
)
def test_a_bound_below_what_the_round_serves_is_named(bounds: tuple[int, ...]) -> None:
    assert names(proved(rank_bounds=bounds), "than its bound: expected")


def test_bounds_of_some_ranks_only_are_named() -> None:
    assert names(proved(rank_bounds=(NOW, MUST, WANT)), "there is a bound for every rank or none")


@pytest.mark.parametrize("seconds", [AWAY + 1, -1])
def test_a_bound_on_the_time_away_that_the_round_beats_is_named(seconds: int) -> None:
    assert names(proved(away_bound_seconds=seconds), "no round is away for less than the bound")


def test_the_best_round_is_its_bounds() -> None:
    best: dict[str, Any] = {"optimal": True, "rank_bounds": BY_RANK, "away_bound_seconds": AWAY}
    assert broken_promises(proved(**best), FARM, LEGS) == ()
    more: dict[str, Any] = {**best, "rank_bounds": (NOW, MUST, WANT, PASSING + 7)}
    assert names(proved(**more), "serves the bound of each rank")
    assert names(proved(**{**best, "away_bound_seconds": AWAY - 1}), "is away for the bound")
    given = proved(**best).model_copy(update={"given_order": True})
    assert names(given, "a given order is not called the best")


def test_a_part_of_a_job_weighs_its_share_of_the_hives() -> None:
    """Of the 22 hives of hill's must 11 are done: its 9 weigh 4.5, so that all weights are doubled."""
    farm = farm_with(FARM, "jobs", "jobs.csv:2", of_hives=22)
    shared: dict[str, Any] = {"rank_bounds": (0, 9 + 14, 2 * WANT, 2 * PASSING), "weight_scale": 22}
    assert names(proved(farm, rank_bounds=(0, 8, 0, 0)), "weights are told in whole numbers of the farm's scale", farm)
    scaled: dict[str, Any] = {"rank_bounds": (0, 99 + 154, 22 * WANT, 22 * PASSING), "weight_scale": 22}
    assert broken_promises(proved(farm, **scaled), farm, LEGS) == ()
    assert names(proved(farm, **shared), f"no round serves more of rank {Rank.MUST} than its bound", farm)


def test_a_clash_without_a_must_left_out_is_named() -> None:
    clash = proved().model_copy(update={"clash": "These 2 musts cannot all be done: Hill apiary, Moor apiary."})
    assert names(clash, "musts are said to clash only where one is left out")
    farm = farm_with(FARM, "jobs", "jobs.csv:9", rank=Rank.MUST)
    told = proved(farm).model_copy(update={"clash": clash.clash})
    assert broken_promises(told, farm, LEGS) == ()
