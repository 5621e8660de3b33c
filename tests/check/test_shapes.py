"""A line that is not the leg's, ends elsewhere or has another length is caught."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from routing.check import broken_promises
from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.round import Drive, Round
from routing.travel.farm import farm_and_legs
from routing.travel.legs import LegRoute, Legs
from routing.travel.polyline import decode, encode

DEMO = Path(__file__).parents[2] / "examples" / "hollin-vale"
Planned = tuple[Round, Farm, Legs]


class Told:
    """Tells one way for every leg, so that the check sees only what the line itself shows."""

    def __init__(self, legs: Legs, first: str) -> None:
        self._legs = legs
        self._first = first

    def route(self, start: int, end: int) -> LegRoute:
        way = self._legs.way(start, end)
        return LegRoute(self._first, way.turns) if start == 0 else way


def shifted(shape: str, millionths: int) -> str:
    return encode((round(up * 1e6) + millionths, round(along * 1e6)) for up, along in decode(shape))


def ends_only(shape: str) -> str:
    points = decode(shape)
    return encode((round(up * 1e6), round(along * 1e6)) for up, along in (points[0], points[-1]))


@pytest.fixture(scope="module")
def planned(hollin_vale: Round) -> Planned:
    return hollin_vale, *farm_and_legs(read_farm(DEMO))


def with_first_drive(round_: Round, drive: Drive) -> Round:
    day = round_.itineraries[0]
    stops = (day.stops[0].model_copy(update={"drive": drive}), *day.stops[1:])
    return round_.model_copy(update={"itineraries": (day.model_copy(update={"stops": stops}),)})


def test_the_demo_s_round_is_good_and_drawn_on_every_leg(planned: Planned) -> None:
    round_, farm, legs = planned
    assert broken_promises(round_, farm, legs) == ()
    day = round_.itineraries[0]
    assert all(drive.shape and drive.turns for drive in (*(stop.drive for stop in day.stops), day.drive_home))


def test_the_demo_stays_interesting(planned: Planned) -> None:
    """Some are done, some are left out for want of room, and the forest track needs what the van is not."""
    round_, _, _ = planned
    reasons = {left.site: left.reason.value for left in round_.left_out}
    assert len(round_.itineraries[0].stops) >= 7
    assert list(reasons.values()).count("no room in the day") >= 2
    assert reasons["larch"] == "no vehicle"


@pytest.mark.parametrize("field", ["shape", "turns"])
def test_a_way_that_is_not_the_leg_s_is_caught(planned: Planned, field: str) -> None:
    round_, farm, legs = planned
    drive = round_.itineraries[0].stops[0].drive
    changed = drive.model_copy(update={field: "" if field == "shape" else ("Turn left.",)})
    assert any("leg's" in line for line in broken_promises(with_first_drive(round_, changed), farm, legs))


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        (lambda shape: shape[:-1] + "_", "can be read"),
        (lambda shape: shifted(shape, 30_000), "meets"),
        (ends_only, "as long as the leg"),
    ],
)
def test_a_line_that_cannot_be_is_caught_even_where_the_legs_tell_it(
    planned: Planned, damage: object, words: str
) -> None:
    round_, farm, legs = planned
    drive = round_.itineraries[0].stops[0].drive
    assert callable(damage)
    line = damage(drive.shape)
    told = replace(legs, routes=Told(legs, line))
    changed = with_first_drive(round_, drive.model_copy(update={"shape": line}))
    assert any(words in sentence for sentence in broken_promises(changed, farm, told))


def test_a_walk_that_was_estimated_and_not_said_is_caught(planned: Planned) -> None:
    round_, farm, legs = planned
    noted = replace(legs, notes=("The walk to Long Stone is estimated: 80 m.",))
    assert any("estimates is said" in line for line in broken_promises(round_, farm, noted))
