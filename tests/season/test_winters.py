"""Invented winters in which the farm does what it is told; thousands of colonies more are in tests/benchmarks/winters.md."""

from __future__ import annotations

import pytest

from tests.season.winters import Tally, Winter, winters

SOME = Winter(farms=4, sites=8, colonies=8)


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Tally:
    return winters(SOME, tmp_path_factory.mktemp("farm"), seed=11)


def test_hardly_a_colony_starves_where_feed_is_given_as_told(found: Tally) -> None:
    """Of 256 colonies 1 or 2 in the long run; five or fewer in 99 of 100 such runs."""
    assert found.colonies == 256
    assert found.starved <= 5


def test_one_colony_in_ten_lies_below_the_level_on_the_day_that_is_told(found: Tally) -> None:
    """Some hundreds of colonies on days told as `feed by`, eight to a site and not independent: 6 % to 14 %."""
    assert found.at_feed_by > 150
    assert 0.06 <= found.below_share <= 0.14
    assert 0.06 <= found.below_told_share <= 0.14


def test_what_is_ordered_lasts_in_nine_windows_of_ten(found: Tally) -> None:
    """Some twenty windows of six weeks in which feed is used: four in five have enough, and not half as much again."""
    assert len(found.windows) >= 15
    assert found.enough_share >= 0.8
    assert found.covered_share <= 1.5
