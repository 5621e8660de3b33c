"""Drives that the farmer knows: what they replace, what they join and what they leave alone."""

from __future__ import annotations

import numpy as np
import pytest

from routing.farm.models import KnownDrive
from routing.travel.known import with_known_drives
from routing.travel.leg_origin import LegOrigin
from routing.travel.legs import UNREACHABLE, Legs

NO_WAY = UNREACHABLE


def estimate(seconds: list[list[int]]) -> Legs:
    """Legs between base, a, b, c... as given in seconds, ten metres for each second."""
    matrix = np.array(seconds, dtype=np.int64)
    n = len(matrix)
    return Legs(
        places=("base", "a", "b", "c", "d")[:n],
        seconds=matrix,
        metres=np.where(matrix == NO_WAY, NO_WAY, matrix * 10),
        origins=((LegOrigin.ESTIMATE,) * n,) * n,
    )


def evenly(n: int, seconds: int) -> Legs:
    """Return n places, all as far from each other."""
    return estimate([[0 if i == j else seconds for j in range(n)] for i in range(n)])


def drive(start: str, end: str, minutes: float) -> KnownDrive:
    return KnownDrive(start=start, end=end, minutes=minutes)


def leg(legs: Legs, start: str, end: str) -> tuple[int, int, LegOrigin]:
    i, j = legs.index(start), legs.index(end)
    return int(legs.seconds[i, j]), int(legs.metres[i, j]), legs.origins[i][j]


def test_a_known_drive_overrides_both_ways_and_keeps_the_metres() -> None:
    """20 min = 1200 s in place of 600 s, longer as it is; 6000 m stay; the leg to b is untouched."""
    found = with_known_drives(evenly(3, 600), [drive("base", "a", 20)])
    assert leg(found, "base", "a") == leg(found, "a", "base") == (1200, 6000, LegOrigin.KNOWN)
    assert leg(found, "base", "b") == (600, 6000, LegOrigin.ESTIMATE)


def test_a_row_of_its_own_for_the_way_back_holds() -> None:
    """20 min up, 15 min down, in either order of rows."""
    rows = [drive("base", "a", 20), drive("a", "base", 15)]
    for order in (rows, rows[::-1]):
        found = with_known_drives(evenly(2, 600), order)
        assert (leg(found, "base", "a")[0], leg(found, "a", "base")[0]) == (1200, 900)


def test_of_two_rows_for_one_way_the_later_holds() -> None:
    found = with_known_drives(evenly(2, 600), [drive("base", "a", 20), drive("base", "a", 25)])
    assert leg(found, "base", "a")[0] == leg(found, "a", "base")[0] == 1500


def test_seconds_are_rounded_up() -> None:
    """0.11 min = 6.6 s, up to 7; 0.7 min = 42 s, though 0.7 x 60 in floats is not below 42."""
    found = with_known_drives(evenly(3, 600), [drive("base", "a", 0.11), drive("base", "b", 0.7)])
    assert (leg(found, "base", "a")[0], leg(found, "base", "b")[0]) == (7, 42)


def test_a_chain_of_known_drives_completes_a_pair_where_it_is_quicker() -> None:
    """base-a 2 min and a-b 3 min: base-b by way of a is 300 s, quicker than 600 s, over 6000 + 6000 m."""
    found = with_known_drives(evenly(3, 600), [drive("base", "a", 2), drive("a", "b", 3)])
    assert leg(found, "base", "b") == leg(found, "b", "base") == (300, 12_000, LegOrigin.KNOWN_VIA)


def test_the_shortest_of_several_chains_is_taken() -> None:
    """From base to c: by a 4 + 4 = 8 min, by b 1 + 6 = 7 min: 420 s."""
    rows = [drive("base", "a", 4), drive("a", "c", 4), drive("base", "b", 1), drive("b", "c", 6)]
    found = with_known_drives(evenly(4, 600), rows)
    assert leg(found, "base", "c") == (420, 12_000, LegOrigin.KNOWN_VIA)
    assert leg(found, "a", "b") == (300, 12_000, LegOrigin.KNOWN_VIA)


def test_a_known_drive_stays_though_a_chain_would_be_quicker() -> None:
    """The farmer's own 30 min from base to b stand against 2 + 3 min by way of a."""
    rows = [drive("base", "a", 2), drive("a", "b", 3), drive("base", "b", 30)]
    assert leg(with_known_drives(evenly(3, 600), rows), "base", "b") == (1800, 6000, LegOrigin.KNOWN)


def test_drives_known_from_base_alone_force_no_drive_through_base() -> None:
    """Three sites 20 min from base and an estimated 10 min from each other: 40 min by base are not taken."""
    rows = [drive("base", site, 20) for site in ("a", "b", "c")]
    found = with_known_drives(evenly(4, 600), rows)
    for start in ("a", "b", "c"):
        for end in {"a", "b", "c"} - {start}:
            assert leg(found, start, end) == (600, 6000, LegOrigin.ESTIMATE)


def test_a_chain_as_long_as_the_estimate_changes_nothing() -> None:
    """4 + 6 min by way of a are the 600 s of the estimate."""
    found = with_known_drives(evenly(3, 600), [drive("base", "a", 4), drive("a", "b", 6)])
    assert leg(found, "base", "b") == (600, 6000, LegOrigin.ESTIMATE)


def test_one_way_chains_keep_their_way() -> None:
    """base-a-b 1 + 1 min out; back 1 + 20 min, no quicker than 600 s."""
    rows = [drive("base", "a", 1), drive("a", "base", 1), drive("a", "b", 1), drive("b", "a", 20)]
    found = with_known_drives(evenly(3, 600), rows)
    assert leg(found, "base", "b") == (120, 12_000, LegOrigin.KNOWN_VIA)
    assert leg(found, "b", "base") == (600, 6000, LegOrigin.ESTIMATE)


def test_what_no_drive_joins_stays_unreachable() -> None:
    """Place c cannot be reached; a drive between base and a changes nothing about that."""
    legs = estimate([[0, 600, NO_WAY], [600, 0, NO_WAY], [NO_WAY, NO_WAY, 0]])
    found = with_known_drives(legs, [drive("base", "a", 5)])
    for pair in (("base", "b"), ("a", "b"), ("b", "a"), ("b", "base")):
        assert leg(found, *pair) == (NO_WAY, NO_WAY, LegOrigin.ESTIMATE)


def test_a_known_drive_opens_a_way_where_there_was_none() -> None:
    """From a to b 5 min: 300 s, at the 10 m/s of the other legs on average 3000 m; base reaches b by a: 4 + 5 min."""
    legs = estimate([[0, 600, NO_WAY], [600, 0, NO_WAY], [NO_WAY, NO_WAY, 0]])
    found = with_known_drives(legs, [drive("a", "b", 5), drive("base", "a", 4)])
    assert leg(found, "a", "b") == (300, 3000, LegOrigin.KNOWN)
    assert leg(found, "base", "b") == (540, 9000, LegOrigin.KNOWN_VIA)


def test_a_row_from_a_place_to_itself_says_nothing() -> None:
    legs = evenly(2, 600)
    assert with_known_drives(legs, [drive("a", "a", 5)]) is legs


def test_no_drives_leave_the_legs_as_they_are() -> None:
    legs = evenly(3, 600)
    assert with_known_drives(legs, []) is legs


def test_a_drive_to_a_place_that_is_not_there_is_refused() -> None:
    with pytest.raises(ValueError, match="orchard"):
        with_known_drives(evenly(2, 600), [drive("base", "orchard", 5)])


def test_the_given_legs_do_not_change() -> None:
    legs = evenly(3, 600)
    with_known_drives(legs, [drive("base", "a", 2), drive("a", "b", 3)])
    assert leg(legs, "base", "a") == leg(legs, "base", "b") == (600, 6000, LegOrigin.ESTIMATE)
