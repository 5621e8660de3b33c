"""The best departure is the one that trying every second finds."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from routing.check.days import Call, DayPlan, Departure, best_departure, can_be_done, possible_breaks

SPANS = st.lists(st.integers(0, 150), min_size=2, max_size=4, unique=True).map(
    lambda ends: tuple(zip(sorted(ends)[::2], sorted(ends)[1::2], strict=False))
)
CALLS = st.builds(Call, st.just("hill"), st.integers(1, 30), SPANS)


@st.composite
def plans(draw: st.DrawFn) -> DayPlan:
    calls = tuple(draw(st.lists(CALLS, min_size=1, max_size=4)))
    drives = draw(st.lists(st.integers(0, 25), min_size=len(calls) + 1, max_size=len(calls) + 1))
    after = draw(st.none() | st.fractions(0, 120, max_denominator=3))
    return DayPlan(
        draw(st.integers(0, 40)), draw(st.integers(60, 200)), calls, tuple(drives), draw(st.integers(1, 20)), after
    )


def home_after(plan: DayPlan, leave: int, rest_at: int | None) -> int | None:
    """Return the home of one departure, each visit in the first span that it fits."""
    now = leave
    for index, call in enumerate(plan.calls):
        now += plan.drives[index]
        seconds = call.seconds + (plan.break_seconds if index == rest_at else 0)
        starts = [max(now, opens) for opens, closes in call.spans if max(now, opens) + seconds <= closes]
        if not starts:
            return None
        now = min(starts) + seconds
    home = now + plan.drives[-1]
    return home if home <= plan.home_by else None


def by_trying(plan: DayPlan, rest_at: int | None) -> Departure | None:
    """Return the earliest home and then the latest departure of all departures that keep the rule on breaks."""
    found = []
    for leave in range(plan.earliest_leave, plan.home_by + 1):
        home = home_after(plan, leave, rest_at)
        if home is None:
            continue
        if (plan.break_after is not None and home - leave > plan.break_after) == (rest_at is not None):
            found.append((home, -leave))
    return Departure(-min(found)[1], min(found)[0]) if found else None


@settings(max_examples=600, deadline=None, derandomize=True)
@given(plans())
def test_the_best_departure_is_what_trying_every_second_finds(plan: DayPlan) -> None:
    for rest_at in (None, *range(len(plan.calls))):
        assert best_departure(plan, rest_at) == by_trying(plan, rest_at)
    assert can_be_done(plan) == any(by_trying(plan, rest_at) is not None for rest_at in possible_breaks(plan))


def test_a_wait_takes_up_a_later_departure() -> None:
    """Work from 100: leaving at 0 or at 90 both end at 130, so 90 is best; home 140."""
    plan = DayPlan(0, 500, (Call("hill", 30, ((100, 200),)),), (10, 10), 0, None)
    assert best_departure(plan, None) == Departure(90, 140)


def test_a_break_is_due_only_beyond_its_hours() -> None:
    """10 + 30 + 10 s away is exactly 50: with a limit of 50 no break is due, a hair below it is."""
    calls = (Call("hill", 30, ((0, 200),)),)
    assert best_departure(DayPlan(0, 500, calls, (10, 10), 5, Fraction(50)), None) == Departure(0, 50)
    shorter = DayPlan(0, 500, calls, (10, 10), 5, Fraction(99, 2))
    assert best_departure(shorter, None) is None
    assert best_departure(shorter, 0) == Departure(0, 55)
