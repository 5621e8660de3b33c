"""The numbers for the field of a day that is small enough to follow: each is missed by the least, or just let through."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, partial
from typing import Any

import pytest

from routing.check.field import numbers_are_true, stock_at_base_is_true
from routing.check.ground import Ground
from routing.farm.models import Farm
from routing.planning.day_numbers import with_numbers
from routing.round import DayNumbers, Round
from tests.check.damage import Path, leaves, lists, nudged, thawed, with_change
from tests.check.good_round import good_round
from tests.check.small_farm import FARM, LEGS, WEDNESDAY, farm_with

DAYS = ("itineraries", 0), ("itineraries", 1)
FIELD = [(*day, "numbers") for day in DAYS]


@cache
def told() -> Round:
    """Return the good round with its numbers: two jobs at hill, a break, packs; supers that come back, and work near."""
    return with_numbers(good_round(), FARM, LEGS)


def faults(round_: Round, farm: Farm = FARM) -> list[str]:
    ground = Ground.of(farm, LEGS)
    of_days = [line for day in round_.itineraries for line in numbers_are_true(day, ground)]
    return [*of_days, *(line for _, line in stock_at_base_is_true(round_, ground))]


def test_the_numbers_are_let_through() -> None:
    assert faults(told()) == []
    assert all(day.numbers is not None for day in told().itineraries)
    assert faults(good_round()) == []


def after(day: int, path: Path, change: Callable[[Any], object]) -> list[str]:
    """Return what is said of a day whose numbers are changed at this place; only they are made anew, which is quick."""
    itinerary = told().itineraries[day]
    assert itinerary.numbers is not None
    at = dump = thawed(itinerary.numbers.model_dump())
    for step in path[:-1]:
        at = at[step]
    at[path[-1]] = change(at[path[-1]])
    numbers = DayNumbers.model_validate(dump)
    days = list(told().itineraries)
    days[day] = itinerary.model_copy(update={"numbers": numbers})
    stock = stock_at_base_is_true(told().model_copy(update={"itineraries": tuple(days)}), GROUND)
    return [*numbers_are_true(days[day], GROUND), *(line for _, line in stock)]


GROUND = Ground.of(FARM, LEGS)


def numbers(day: int) -> dict[str, Any]:
    found = told().itineraries[day].numbers
    assert found is not None
    return found.model_dump()


@pytest.mark.parametrize("day", [0, 1])
def test_every_number_is_missed_by_the_least(day: int) -> None:
    paths = [path for path, _ in leaves(numbers(day))]
    assert len(paths) > 60
    for path in paths:
        assert after(day, path, nudged(path)), path


def dropped(at: int, items: list[Any]) -> list[Any]:
    return [*items[:at], *items[at + 1 :]]


def doubled(at: int, items: list[Any]) -> list[Any]:
    return [*items[: at + 1], *items[at:]]


@pytest.mark.parametrize("day", [0, 1])
def test_every_part_is_there_once(day: int) -> None:
    for path, length in lists(numbers(day)):
        for index in range(length):
            for change in (dropped, doubled):
                assert after(day, path, partial(change, index)), (path, index)


HIVES: Path = (*FIELD[0], "stops", 0, "jobs", 0)
"""11 hives of hill: 4.01 min each, and 2.5 kg of fondant."""


@pytest.mark.parametrize(
    ("path", "off", "seen"),
    [
        # a millionth of a second over all 11 hives, or of a thousandth
        ((*HIVES, "hive_seconds"), 0.00000009, False),
        ((*HIVES, "hive_seconds"), -0.00000009, False),
        ((*HIVES, "hive_seconds"), 0.0000001, True),
        ((*HIVES, "hive_seconds"), -0.0000001, True),
        ((*HIVES, "takes", 0, "thousandths"), 0.0000009, False),
        ((*HIVES, "takes", 0, "thousandths"), 0.0000011, True),
        ((*HIVES, "takes", 0, "thousandths"), -0.0000011, True),
    ],
)
def test_parts_that_no_rounding_can_see_are_let_through(path: Path, off: float, *, seen: bool) -> None:
    assert bool(faults(with_change(told(), path, lambda value: value + off))) is seen


WINDOWS: Path = (*FIELD[0], "stops", 0, "windows")
"""Of both jobs, in daylight, and of the second alone, in twilight too."""


def window(opens: int, closes: int, *jobs: int) -> dict[str, Any]:
    return {"opens": opens, "closes": closes, "jobs": jobs}


@pytest.mark.parametrize(
    ("windows", "words"),
    [
        ([window(30305, 55606, 0, 1), window(26107, 59803, 1)], ""),
        # a window of one job inside that of both says nothing more
        ([window(30305, 55606, 0, 1), window(26107, 59803, 1), window(30306, 55606, 0)], ""),
        ([window(30305, 55606, 0, 1), window(26107, 59803, 1), window(30304, 55606, 0)], "those of the light"),
        ([window(30305, 55606, 0, 1)], "those of the light"),
        ([window(30305, 55606, 0), window(26107, 59803, 1)], "those of the light"),
        ([window(30305, 55606, 0, 1), window(26107, 59803, 1), window(26107, 59803, 1)], "stands once"),
        ([window(30305, 55606, 1, 0), window(26107, 59803, 1)], "rise"),
        ([window(30305, 55606, 0, 1), window(26107, 59803, 1), window(1, 2, 2)], "of its jobs"),
    ],
)
def test_windows_are_told_for_each_set_of_jobs(windows: list[dict[str, Any]], words: str) -> None:
    found = faults(with_change(told(), WINDOWS, lambda _: windows))
    assert any(words in line for line in found) if words else found == []


NEAR: Path = (*FIELD[1], "near", 0)


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("site", "fen", "is of its site"),
        ("jobs", (), "is of its site"),
        ("jobs", ("jobs.csv:99",), "is of its site"),
        ("jobs", ("jobs.csv:9", "jobs.csv:9"), "has its numbers"),
        ("jobs", ("jobs.csv:6",), "is not planned"),
        ("stop", -1, "each stop has its numbers"),
        ("stop", 3, "has its stop"),
        ("stop", 1, "each stop has its numbers"),
        ("longitude", -1.62001, "is where it is"),
    ],
)
def test_work_that_is_near_is_left_out_and_at_its_site(key: str, value: object, words: str) -> None:
    found = faults(with_change(told(), (*NEAR, key), lambda _: value))
    assert any(words in line for line in found)


@pytest.mark.parametrize(("change", "weight"), [({"due_by": None}, 7), ({"due_by": WEDNESDAY}, 7)])
def test_a_job_that_is_not_overdue_weighs_seven(change: dict[str, object], weight: int) -> None:
    """Hill's is two days overdue and weighs 9."""
    at: Path = (*HIVES, "weight")
    farm = farm_with(FARM, "jobs", "jobs.csv:2", **change)
    assert faults(told(), farm)
    assert faults(with_change(told(), at, lambda _: weight), farm) == []


@pytest.mark.parametrize(("days", "weight"), [(364, 371), (365, 372), (366, 372), (1000, 372)])
def test_a_job_weighs_a_day_more_for_each_overdue_up_to_a_year(days: int, weight: int) -> None:
    """DEVELOPERS.md, arithmetic 9: 7 and the days overdue, capped at 365."""
    farm = farm_with(FARM, "jobs", "jobs.csv:2", due_by=WEDNESDAY.fromordinal(WEDNESDAY.toordinal() - days))
    right = with_change(told(), (*HIVES, "weight"), lambda _: weight)
    assert faults(right, farm) == []
    assert faults(with_change(right, (*HIVES, "weight"), lambda shown: shown + 1), farm)
    assert faults(with_change(right, (*HIVES, "weight"), lambda shown: shown - 1), farm)


@pytest.mark.parametrize(("fondant", "at_base"), [(200, 150_000), (50.001, 1), (50, 0)])
def test_what_is_left_at_base_is_the_stock_less_what_all_crews_take(fondant: float, at_base: int) -> None:
    """Anna takes four boxes of 12.5 kg and Ben none."""
    farm = FARM.model_copy(update={"stock": {**FARM.stock, "fondant": fondant}})
    round_ = told()
    for day, number in ((0, 0), (1, 3)):
        round_ = with_change(round_, (*FIELD[day], "materials", number, "at_base"), lambda _: at_base)
    assert [line for line in faults(round_, farm) if "stock at base" in line] == []
    wrong = with_change(round_, (*FIELD[1], "materials", 3, "at_base"), lambda _: at_base + 1)
    assert len([line for line in faults(wrong, farm) if "stock at base" in line]) == 1
