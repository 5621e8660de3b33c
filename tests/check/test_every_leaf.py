"""Nothing in a round is unchecked: every leaf is changed and the check must bite, but for a short list of words."""

from __future__ import annotations

import pytest

from routing.check import broken_promises
from routing.round import (
    Break,
    CallIn,
    Chance,
    Drive,
    EvenDays,
    Insertion,
    Itinerary,
    LeftOut,
    LoadItem,
    LoadList,
    PlannedJob,
    Proof,
    Remedy,
    Round,
    Shortfall,
    Stop,
    SurestOrder,
)
from tests.check.damage import Path, fields_met, leaves, lists, nudged, pattern, with_change, with_twice, without
from tests.check.good_round import good_round
from tests.check.small_farm import FARM, LEGS

NOT_JUDGED = {
    "proof.optimal": "no promise is broken where less is said; that best is the bound is checked",
    "proof.text": "words",
    "faults.*": "words",
    "proof.stopped": "tells of the search",
    "even.longest_before_seconds": "tells of another plan; that it was no shorter is checked",
    "even.extra_seconds": "tells of another plan",
    "even.text": "words",
    **{
        f"chance.{leaf}": "simulated; the plan's own tests live through it again"
        for leaf in ("days", "musts", "whole", "spread")
    },
    "chance.text": "words",
    "chance.remedies.*": "words",
    **{
        f"surest.{leaf}": "tells of another plan, or is simulated"
        for leaf in ("extra_seconds", "musts_before", "musts_after", "whole_before", "whole_after")
    },
    "surest.text": "words",
    "estimates.*": "words; that there are some is checked",
    "cautions.*": "words on the whole round; those of each job are checked",
    "warnings.*": "words",
    "left_out.*.text": "words",
    "left_out.*.insertion.extra_seconds": "tells of a day that is not planned",
    "left_out.*.insertion.shortfalls.*.amount": "time that a day which is not planned would lack; stock is checked",
    "left_out.*.remedies.*.kind": "tells of another plan",
    "left_out.*.remedies.*.amount": "tells of another plan",
    "left_out.*.remedies.*.text": "words",
    "itineraries.*.call_ins.*.where": "words; that the right place is named in them is checked",
}
"""Leaves that the check leaves alone, and why."""

MAY_BE_EMPTY = {"cautions", "warnings", "faults", "left_out.*.remedies", "chance.remedies"}
"""Lists whose items the check does not count."""

MAY_BE_TWICE = MAY_BE_EMPTY | {"estimates", "left_out.*.insertion.shortfalls"}

LEAVES = [path for path, _ in leaves(good_round().model_dump())]
LISTS = [(path, index) for path, length in lists(good_round().model_dump()) for index in range(length)]


def name(path: Path) -> str:
    return ".".join(str(step) for step in path)


@pytest.mark.parametrize("path", [path for path in LEAVES if pattern(path) not in NOT_JUDGED], ids=name)
def test_a_changed_leaf_is_caught(good: Round, path: Path) -> None:
    assert broken_promises(with_change(good, path, nudged(path)), FARM, LEGS)


@pytest.mark.parametrize("path", [path for path in LEAVES if pattern(path) in NOT_JUDGED], ids=name)
def test_the_list_of_leaves_not_judged_has_no_more_than_it_must(good: Round, path: Path) -> None:
    assert broken_promises(with_change(good, path, nudged(path)), FARM, LEGS) == ()


@pytest.mark.parametrize(("path", "index"), [one for one in LISTS if pattern(one[0]) not in MAY_BE_EMPTY])
def test_a_dropped_item_is_caught(good: Round, path: Path, index: int) -> None:
    assert broken_promises(without(good, path, index), FARM, LEGS)


@pytest.mark.parametrize(("path", "index"), [one for one in LISTS if pattern(one[0]) not in MAY_BE_TWICE])
def test_an_item_that_is_there_twice_is_caught(good: Round, path: Path, index: int) -> None:
    assert broken_promises(with_twice(good, path, index), FARM, LEGS)


def test_the_walk_meets_every_field_of_every_part_of_a_round(good: Round) -> None:
    parts = (
        *(Round, Itinerary, Stop, Drive, Break, PlannedJob, LoadList, LoadItem, CallIn),
        *(LeftOut, Insertion, Shortfall, Remedy, Proof, EvenDays, Chance, SurestOrder),
    )
    assert set(fields_met(good)) == {(part, field) for part in parts for field in part.model_fields}


def test_every_leaf_not_judged_is_in_the_good_round() -> None:
    assert set(NOT_JUDGED) <= {pattern(path) for path in LEAVES}


def test_even_days_with_a_longer_day_than_before_are_caught(good: Round) -> None:
    assert good.even is not None
    worse = good.even.model_copy(update={"longest_before_seconds": good.even.longest_seconds - 1})
    (told,) = broken_promises(good.model_copy(update={"even": worse}), FARM, LEGS)
    assert "even days have no longer day" in told
