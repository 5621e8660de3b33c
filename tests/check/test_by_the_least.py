"""Each rule where it just holds, and where it is broken by the least that can be: a second, a gram, a person, a day."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from routing.check import broken_promises, what_holds
from routing.check.ground import Ground
from routing.check.header import dates_agree
from routing.check.light import windows_are_true
from routing.farm.models import Farm
from routing.round import RemedyKind, Round, Shortfall
from tests.check.damage import Path, with_change
from tests.check.small_farm import FARM, LEGS, WEDNESDAY, farm_with, figure

SECOND = dt.timedelta(seconds=1)
THURSDAY = WEDNESDAY + dt.timedelta(days=1)


def names(round_: Round, farm: Farm, promise: str) -> bool:
    return any(promise in sentence for sentence in broken_promises(round_, farm, LEGS))


def van(**change: float) -> Farm:
    return farm_with(FARM, "vehicles", "van", **change)


def truck(**change: float) -> Farm:
    return farm_with(FARM, "vehicles", "truck", **change)


def crew(id_: str, **change: object) -> Farm:
    return farm_with(FARM, "crews", id_, **change)


def mill(**change: object) -> Farm:
    """Return the farm with the job that Anna does at mill changed."""
    return farm_with(FARM, "jobs", "jobs.csv:4", **change)


def stock(**amounts: float) -> Farm:
    return FARM.model_copy(update={"stock": amounts})


def rules(**change: object) -> Farm:
    return FARM.model_copy(update={"rules": FARM.rules.model_copy(update=change)})


FARMS: dict[str, tuple[Farm, Farm, str]] = {
    # 4 boxes of 12.5 kg, 11 guards of 0.111 kg and 2 packets of 10 strips of 0.021 kg: 51.641 kg
    "payload out": (van(payload_kg=51.641), van(payload_kg=51.640), "the payload is never passed"),
    # 50 x 0.8 + 11 x 0.273 + 20 x 0.053 = 44.063 litres
    "space out": (van(space_litres=44.063), van(space_litres=44.062), "the space is never passed"),
    # 5 supers of 14.7 kg and, still on board, a packet of strips: 73.71 kg
    "payload back": (truck(payload_kg=73.71), truck(payload_kg=73.709), "the payload is never passed"),
    "space back": (truck(space_litres=216.03), truck(space_litres=216.029), "the space is never passed"),
    "stock": (stock(guard=16), stock(guard=15.999), "the stock of guard serves all crews"),
    "start": (
        crew("ben", earliest_start=dt.time(8)),
        crew("ben", earliest_start=dt.time(8, 0, 1)),
        "loading never begins before the earliest start",
    ),
    "home": (
        crew("anna", home_by=dt.time(11, 54, 3)),
        crew("anna", home_by=dt.time(11, 54, 2)),
        "the crew is home in time",
    ),
    "too soon": (mill(not_before=WEDNESDAY), mill(not_before=THURSDAY), "no job is done before it may be"),
    "promised later": (mill(promised=WEDNESDAY), mill(promised=THURSDAY), "a promised job is done on its day"),
    "promised before": (
        mill(promised=WEDNESDAY),
        mill(promised=WEDNESDAY - dt.timedelta(days=1)),
        "a promised job is done on its day",
    ),
    "people": (
        farm_with(FARM, "job_kinds", "supers", people=2),
        farm_with(FARM, "job_kinds", "supers", people=3),
        "the crew has the people that the job needs",
    ),
    # two of her calls are 3,080 s apart: 51.34 min are 3,080.4 s, 51.32 are 3,079.2
    "calls": (
        rules(call_in_minutes=figure(51.34)),
        rules(call_in_minutes=figure(51.32)),
        "calls are never further apart than the rule",
    ),
    # the break begins 8,911 s after leaving: 2.4753 h are 8,911.08 s, 2.4752 are 8,910.72
    "break in time": (
        crew("anna", break_after_hours=2.4753),
        crew("anna", break_after_hours=2.4752),
        "the break begins within",
    ),
    # she is away for 12,035 s without it: 3.343 h are 12,034.8 s, 3.3431 are 12,035.16
    "break due": (crew("anna", break_after_hours=3.343), crew("anna", break_after_hours=3.3431), "one break where"),
    # of the 3,124 s after it: 0.8678 h are 3,124.08 s, 0.8677 are 3,123.72
    "second break": (
        crew("anna", break_after_hours=0.8678),
        crew("anna", break_after_hours=0.8677),
        "a second break that is due is told",
    ),
}


@pytest.mark.parametrize(("holds", "fails", "promise"), FARMS.values(), ids=FARMS.keys())
def test_a_limit_of_the_farm_is_kept_on_the_dot_and_broken_by_the_least(
    good: Round, holds: Farm, fails: Farm, promise: str
) -> None:
    assert not names(good, holds, promise)
    assert names(good, fails, promise)


HILL: Path = ("itineraries", 0, "stops", 0)
MOOR: Path = ("left_out", 0)
OPENS, FINISH = dt.datetime(2025, 12, 3, 8, 25, 5, tzinfo=dt.UTC), dt.datetime(2025, 12, 3, 9, 48, 12, tzinfo=dt.UTC)


def fewer(amount: float) -> list[dict[str, object]]:
    return [{"kind": RemedyKind.LIGHTER_LOAD, "amount": amount, "text": "In words."}]


def late(amount: float, unit: str = "seconds") -> list[dict[str, object]]:
    return [Shortfall(what="home by", amount=amount, unit=unit).model_dump()]


SHOWN: dict[str, tuple[Path, Any, Any, str]] = {
    "opens": ((*HILL, "window_opens"), OPENS, OPENS + SECOND, "no work starts before the window opens"),
    "closes": ((*HILL, "window_closes"), FINISH, FINISH - SECOND, "no work ends after the window closes"),
    "hives of 40": ((*MOOR, "remedies"), fewer(39), fewer(40), "the amount of a remedy"),
    "some": ((*MOOR, "remedies"), fewer(0.001), fewer(0), "the amount of a remedy"),
    "shortfall": ((*MOOR, "insertion", "shortfalls"), late(0.001), late(0), "the shortfall of home by is right"),
    "unit": (
        (*MOOR, "insertion", "shortfalls"),
        late(1),
        late(1, "minutes"),
        "the unit of the shortfall of home by is right",
    ),
    "insertion date": (
        (*MOOR, "insertion", "date"),
        WEDNESDAY,
        THURSDAY,
        "the insertion is on a date of the round",
    ),
    "insertion crew": ((*MOOR, "insertion", "crew"), "ben", "carl", "the insertion is with a crew of the farm"),
    "even": (
        ("even", "longest_before_seconds"),
        13235,
        13234,
        "even days have no longer day",
    ),
}


@pytest.mark.parametrize(("path", "holds", "fails", "promise"), SHOWN.values(), ids=SHOWN.keys())
def test_what_is_shown_holds_on_the_dot_and_is_broken_by_the_least(
    good: Round, path: Path, holds: Any, fails: Any, promise: str
) -> None:
    assert not names(with_change(good, path, lambda _: holds), FARM, promise)
    assert names(with_change(good, path, lambda _: fails), FARM, promise)


def test_dates_are_in_order_and_each_there_once(good: Round) -> None:
    """Of four dates in a row, so that no set gives them in order by chance whichever way they are asked for."""
    promise, ground = "dates are in order, each once", Ground.of(FARM, LEGS)
    days = tuple(WEDNESDAY + dt.timedelta(days=number) for number in range(4))
    for dates, holds in ((days, True), (days[::-1], False), ((*days, days[3]), False), ((), False), (days[:1], True)):
        found = dates_agree(good.model_copy(update={"dates": dates}), ground)
        assert any(promise in line for line in found) is not holds


def test_a_window_that_is_not_the_site_s_is_told_with_what_it_is(good: Round) -> None:
    """Hill's light is from 8:25:05 to 15:26:46; mill is open from 9 to 12 and from 13:30 to its dark at 15:26."""
    wrong = with_change(good, (*HILL, "window_opens"), lambda _: OPENS + SECOND)
    (said,) = windows_are_true(wrong.itineraries[0], Ground.of(FARM, LEGS))
    assert said.endswith(
        "expected 2025-12-03 08:25:05 to 2025-12-03 15:26:46, found 2025-12-03 08:25:06 to 2025-12-03 15:26:46"
    )
    wrong = with_change(good, ("itineraries", 0, "stops", 1, "window_opens"), lambda _: OPENS)
    (said,) = windows_are_true(wrong.itineraries[0], Ground.of(FARM, LEGS))
    assert "expected 2025-12-03 09:00:00 to 2025-12-03 12:00:00 or 2025-12-03 13:30:00 to 2025-12-03 15:2" in said
    shut = farm_with(FARM, "sites", "hill", closed_dates={WEDNESDAY})
    (said,) = windows_are_true(good.itineraries[0], Ground.of(shut, LEGS))
    assert "expected no window: the site is closed or dark" in said


@pytest.mark.parametrize(
    ("call", "where", "right"),
    [
        (0, "Hill apiary", True),
        (0, "Mill apiary", False),
        (0, "The yard", False),
        # on the way from hill to mill either may be named
        (1, "Mill apiary", True),
        (1, "Lane apiary", False),
        (3, "Lane apiary", True),
        (3, "The yard", False),
        (4, "The yard", True),
        (4, "Lane apiary", False),
    ],
)
def test_a_call_names_where_the_crew_is_by_then(good: Round, call: int, where: str, *, right: bool) -> None:
    """The calls of the day: at work at hill, on the way to mill, at rest there, on finishing lane, and home."""
    told = with_change(good, ("itineraries", 0, "call_ins", call, "where"), lambda _: where)
    assert names(told, FARM, "the call-in says where the crew is") is not right


def test_a_day_beyond_the_stock_alone_is_taken_out(good: Round) -> None:
    """Anna fits 11 mouse guards and Ben 5: of 15.9 each finds enough to load, and Ben, the last, stays at home."""
    farm = stock(fondant=200, strip=55, guard=15.9)
    mended = what_holds(good, farm, LEGS)
    assert mended.itineraries == good.itineraries[:1]
    assert any("stock is enough" in fault for fault in mended.faults)
    assert broken_promises(mended, farm, LEGS) == ()
