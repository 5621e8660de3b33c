"""What has no room by sums fits nowhere by plain simulation; and without a break what has room fits."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from routing.check.days import Call, DayPlan, can_be_done
from routing.check.room import Room

moments = st.integers(0, 60)


@st.composite
def calls(draw: st.DrawFn) -> Call:
    """Draw a call of up to 12 s with one span or two that are apart."""
    cuts = sorted(draw(st.lists(moments, min_size=4, max_size=4, unique=True)))
    spans = ((cuts[0], cuts[3]),) if draw(st.booleans()) else ((cuts[0], cuts[1]), (cuts[2], cuts[3]))
    return Call("here", draw(st.integers(0, 12)), spans)


@st.composite
def days(draw: st.DrawFn) -> DayPlan:
    """Draw a day of up to four calls, with or without a break that is due after some seconds."""
    stops = tuple(draw(st.lists(calls(), max_size=4)))
    drives = tuple(draw(st.integers(0, 8)) for _ in range(len(stops) + 1))
    after = draw(st.one_of(st.none(), st.integers(0, 40).map(Fraction)))
    return DayPlan(draw(st.integers(0, 20)), draw(st.integers(20, 80)), stops, drives, draw(st.integers(0, 6)), after)


@settings(max_examples=500)
@given(days(), calls(), st.data())
def test_what_has_no_room_fits_nowhere(day: DayPlan, call: Call, data: st.DataObject) -> None:
    room = Room.of(day)
    assert len(room.ready) == len(room.due) == len(day.calls) + 1
    for gap in range(len(day.calls) + 1):
        there, back = data.draw(st.integers(0, 8)), data.draw(st.integers(0, 8))
        fuller = replace(
            day,
            calls=(*day.calls[:gap], call, *day.calls[gap:]),
            drives=(*day.drives[:gap], there, back, *day.drives[gap + 1 :]),
        )
        if can_be_done(fuller):
            assert room.holds(gap, call, there, back)
        if day.break_after is None:
            assert room.holds(gap, call, there, back) == can_be_done(fuller)


def test_room_to_the_second() -> None:
    """From 0, 10 there, 20 of work until 40 at the latest, 10 home by 50: a call of 10 on the way there ends at 10 or 20."""
    day = DayPlan(0, 50, (Call("wood", 20, ((0, 40),)),), (10, 10), 0, None)
    room = Room.of(day)
    assert (room.ready, room.due) == ((0, 30), (20, 50))
    call = Call("ford", 10, ((0, 60),))
    assert room.holds(0, call, 5, 5)
    assert not room.holds(0, call, 5, 6)
    assert room.holds(1, call, 5, 5)
    assert not room.holds(1, call, 6, 5)
