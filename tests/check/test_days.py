"""The best departure is the one that trying every second finds, with the break in every gap."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from routing.check.days import (
    Call,
    DayPlan,
    Departure,
    best_day,
    best_departure,
    can_be_done,
    elsewhere_than_suspect,
    least_away,
    needs_break,
)

SPANS = st.lists(st.integers(0, 150), min_size=2, max_size=4, unique=True).map(
    lambda ends: tuple(zip(sorted(ends)[::2], sorted(ends)[1::2], strict=False))
)
CALLS = st.builds(Call, st.just("hill"), st.integers(1, 30), SPANS)


@st.composite
def plans(draw: st.DrawFn) -> DayPlan:
    calls = tuple(draw(st.lists(CALLS, min_size=1, max_size=4)))
    marked = draw(st.integers(0, len(calls) + 2))
    calls = tuple(replace(call, last_of_day=index >= marked) for index, call in enumerate(calls))
    drives = draw(st.lists(st.integers(0, 25), min_size=len(calls) + 1, max_size=len(calls) + 1))
    after = draw(st.none() | st.fractions(0, 120, max_denominator=3))
    return DayPlan(
        draw(st.integers(0, 40)), draw(st.integers(60, 200)), calls, tuple(drives), draw(st.integers(1, 20)), after
    )


def home_after(plan: DayPlan, leave: int, gap: int | None) -> int | None:
    """Return the home of one departure, each visit in the first span that it fits, the break told as it is taken."""
    now = leave
    for index, call in enumerate(plan.calls):
        if gap and gap == index:
            if plan.break_after is not None and now - leave > plan.break_after:
                return None
            now += plan.break_seconds
        now += plan.drives[index]
        if gap == 0 == index:
            now += plan.break_seconds
        starts = [max(now, opens) for opens, closes in call.spans if max(now, opens) + call.seconds <= closes]
        if not starts:
            return None
        now = min(starts) + call.seconds
    home = now + plan.drives[-1]
    return home if home <= plan.home_by else None


def homes(plan: DayPlan, gap: int | None) -> list[Departure]:
    tried = ((leave, home_after(plan, leave, gap)) for leave in range(plan.earliest_leave, plan.home_by + 1))
    return [Departure(leave, home) for leave, home in tried if home is not None]


def by_trying(plan: DayPlan, gap: int | None) -> Departure | None:
    """Return the earliest home and then the latest departure of all."""
    return min(homes(plan, gap), key=lambda day: (day.home, -day.leave), default=None)


def with_one_span_each(plan: DayPlan) -> list[DayPlan]:
    """Return the plan for every choice of one span for each call."""
    return [
        replace(plan, calls=tuple(replace(call, spans=(span,)) for call, span in zip(plan.calls, chosen, strict=True)))
        for chosen in product(*(call.spans for call in plan.calls))
    ]


def best_by_the_rule(plan: DayPlan) -> Departure | None:
    """Return the day by rules 4 and 10 as they are written, for calls with one span each."""
    plain = homes(plan, None)
    if not plain or plan.break_after is None or min(day.away for day in plain) <= plan.break_after:
        return by_trying(plan, None)
    found = {gap: day for gap in range(len(plan.calls)) if (day := by_trying(plan, gap)) is not None}
    healthy = {gap: day for gap, day in found.items() if not plan.calls[gap - 1 if gap else 0].last_of_day}
    return min((healthy or found).values(), key=lambda day: (day.away, -day.leave), default=None)


@settings(max_examples=600, deadline=None, derandomize=True)
@given(plans())
def test_the_best_departure_is_what_trying_every_second_finds(plan: DayPlan) -> None:
    for gap in (None, *range(len(plan.calls))):
        assert best_departure(plan, gap) == by_trying(plan, gap)
    assert least_away(plan) == min((day.away for day in homes(plan, None)), default=None)
    ways = with_one_span_each(plan)
    assert can_be_done(plan) == any(best_by_the_rule(way) is not None for way in ways)
    for way in ways:
        assert best_day(way) == best_by_the_rule(way)


def test_a_wait_takes_up_a_later_departure() -> None:
    """Work from 100: leaving at 0 or at 90 both end at 130, so 90 is best; home 140."""
    plan = DayPlan(0, 500, (Call("hill", 30, ((100, 200),)),), (10, 10), 0, None)
    assert best_departure(plan, None) == Departure(90, 140)


def test_a_break_is_due_only_beyond_its_hours() -> None:
    """10 + 30 + 10 s away is exactly 50: with a limit of 50 no break is due, a hair below it is, and home is later."""
    calls = (Call("hill", 30, ((0, 200),)),)
    assert best_day(DayPlan(0, 500, calls, (10, 10), 5, Fraction(50))) == Departure(0, 50)
    assert best_day(DayPlan(0, 500, calls, (10, 10), 5, Fraction(99, 2))) == Departure(0, 55)


def test_a_wait_as_long_as_the_break_costs_nothing() -> None:
    """Away 90 s with a wait of 20 s between two gates: a break of 20 s fits into it, one of 25 s takes 5 s more."""
    calls = (Call("hill", 20, ((0, 40),)), Call("mill", 20, ((70, 100),)))
    plan = DayPlan(10, 500, calls, (10, 10, 10), 20, Fraction(60))
    assert least_away(plan) == 90
    assert best_day(plan) == Departure(10, 100)
    assert best_day(replace(plan, break_seconds=25)) == Departure(10, 105)


def test_a_break_needs_no_open_gate_but_begins_in_time() -> None:
    """The gate is open for the work alone. After 70 s at hill it is too late for a break that must begin within 60 s."""
    calls = (Call("hill", 60, ((10, 70),)), Call("mill", 20, ((0, 500),)))
    plan = DayPlan(0, 500, calls, (10, 10, 10), 5, Fraction(60))
    assert best_departure(plan, 0) is None
    assert best_departure(plan, 1) is None
    assert best_departure(replace(plan, break_after=Fraction(70)), 1) == Departure(0, 115)


def test_a_break_at_a_suspect_site_is_for_want_of_another() -> None:
    """Behind the suspect hill the wait for the gate costs nothing, but a rest after a healthy stop is possible."""
    calls = (
        Call("mill", 20, ((0, 500),)),
        Call("hill", 20, ((0, 500),), last_of_day=True),
        Call("fen", 20, ((0, 500),), last_of_day=True),
    )
    plan = DayPlan(0, 500, calls, (10, 10, 10, 10), 5, Fraction(50))
    assert elsewhere_than_suspect(plan)
    assert not elsewhere_than_suspect(replace(plan, calls=calls[1:], drives=(10, 10, 10)))
    assert needs_break(plan)


def test_a_departure_is_put_off_in_a_wait_until_the_break_is_begun_in_time() -> None:
    """Hill opens at 100, so whoever leaves by 90 is done at 120; within 60 s of leaving only whoever leaves from 60 on.

    All of these are home at 120 + 5 + 10 + 20 + 10; the latest leaves at 90, and with 29.5 s nobody may.
    """
    calls = (Call("hill", 20, ((100, 400),)), Call("mill", 20, ((0, 400),)))
    plan = DayPlan(0, 500, calls, (10, 10, 10), 5, Fraction(60))
    assert best_departure(plan, 1) == Departure(90, 165)
    assert best_departure(replace(plan, break_after=Fraction(30)), 1) == Departure(90, 165)
    assert best_departure(replace(plan, break_after=Fraction(59, 2)), 1) is None


def test_a_wait_that_a_gate_before_it_cuts_short_holds_the_break_too() -> None:
    """Hill shuts at 40, so base is left by 25; mill, open from 100, is done at 120: 96 s after leaving at 24 or later."""
    calls = (Call("hill", 5, ((0, 40),)), Call("mill", 20, ((100, 400),)), Call("fen", 20, ((0, 400),)))
    plan = DayPlan(0, 500, calls, (10, 10, 10, 10), 5, Fraction(96))
    assert best_departure(plan, 2) == Departure(25, 165)
    assert best_departure(replace(plan, break_after=Fraction(95)), 2) == Departure(25, 165)
    assert best_departure(replace(plan, break_after=Fraction(189, 2)), 2) is None
