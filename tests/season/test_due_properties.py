"""No due date is lost, whatever is written in whichever order."""

from __future__ import annotations

import datetime as dt
import tempfile
from functools import cache
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from routing.farm.models import Farm
from routing.season.due import SOON_DAYS, Asked, Open, State, due_items, open_dues
from routing.season.entries import Cancellation, Entry, Record
from tests.season.small_farm import cancel, make_farm

FIRST = dt.date(2026, 1, 1)
KINDS = (
    "weekly-inspection",
    "heft",
    "mouse-guards",
    "clearer-boards",
    "supers-off",
    "strips-in",
    "strips-out",
    "storm",
)


@cache
def farm() -> Farm:
    return make_farm(Path(tempfile.mkdtemp()))


dates = st.integers(0, 900).map(lambda days: FIRST + dt.timedelta(days=days))
entries = st.lists(
    st.builds(
        Entry,
        date=dates,
        site=st.sampled_from(["ash", "beck"]),
        kind=st.sampled_from(KINDS),
        partly=st.booleans(),
        seen=st.sampled_from([(), ("stores-low",)]),
        stores_kg=st.sampled_from([None, 4.0, 12.0]),
    ),
    max_size=25,
)


def opened(record: Record, on: dt.date) -> dict[tuple[str, str], tuple[Open, ...]]:
    """Return the open due dates of every rule at every site, however far ahead, what was missed first."""
    asked = Asked(farm(), record, on)
    return {
        (rule.id, site.id): open_dues(rule, site, asked) for rule in asked.season.due.values() for site in farm().sites
    }


@given(entries, st.randoms(use_true_random=False), dates)
@settings(deadline=None, max_examples=60)
def test_the_order_of_writing_does_not_matter(written: list[Entry], random: object, on: dt.date) -> None:
    shuffled = list(written)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    one_a_day = {(entry.date, entry.site, entry.stores_kg is not None): entry for entry in written}
    if len(one_a_day) < len(written):  # two hefts on one day have an order of their own
        shuffled = [entry.model_copy(update={"stores_kg": None}) for entry in shuffled]
        written = [entry.model_copy(update={"stores_kg": None}) for entry in written]
    assert opened(Record(entries=tuple(written)), on) == opened(Record(entries=tuple(shuffled)), on)


@given(entries, dates, st.integers(1, 400))
@settings(deadline=None, max_examples=60)
def test_an_open_due_date_never_goes_by_itself(written: list[Entry], on: dt.date, later: int) -> None:
    """With nothing new logged, the oldest that is open on a day is open with the same date on every later day.

    What fell due before the log counts is not known, and is let go when its season is over.
    """
    record = Record(entries=tuple(entry for entry in tuple(written) if entry.date <= on))
    if record.entries:
        now, then = opened(record, on), opened(record, on + dt.timedelta(days=later))
        for key, found in now.items():
            if found and found[0].known:
                assert (found[0].opens, found[0].due) == (then[key][0].opens, then[key][0].due)
            if not found:
                assert not then[key]


@given(entries, dates)
@settings(deadline=None, max_examples=60)
def test_everything_whose_day_has_come_is_listed(written: list[Entry], on: dt.date) -> None:
    record = Record(entries=tuple(written))
    listed = {(item.rule, item.site, item.due): item for item in due_items(Asked(farm(), record, on))}
    past = {State.OVERDUE, State.SEASON_OVER, State.UNKNOWN}
    for (rule, site), every in opened(record, on).items():
        for found in every:
            if found.due <= on + dt.timedelta(days=SOON_DAYS):
                assert (listed[rule, site, found.due].state in past) == (found.due < on)


@given(entries, dates, st.integers(1, 3))
@settings(deadline=None, max_examples=60)
def test_what_was_missed_never_hides_the_season_that_is_on(written: list[Entry], on: dt.date, years: int) -> None:
    """Whatever was missed and never logged: a rule with days of the year has a date that is not past its season."""
    record = Record(entries=tuple(entry for entry in written if entry.date <= on))
    later = on + dt.timedelta(days=365 * years)
    for (rule, _), found in opened(record, later).items():
        asked = Asked(farm(), record, later).season.due[rule]
        if asked.by or asked.every_days:
            assert found[-1].ends is not None
            assert later <= found[-1].ends


@given(entries, dates, st.data())
@settings(deadline=None, max_examples=60)
def test_logging_or_cancelling_one_job_closes_that_date_and_no_other_sites(
    written: list[Entry], on: dt.date, data: st.DataObject
) -> None:
    record = Record(entries=tuple(entry for entry in written if entry.date <= on))
    listed = due_items(Asked(farm(), record, on))
    if not listed or not record.entries:
        return
    item = data.draw(st.sampled_from(listed))
    gone: tuple[Cancellation, ...] = (cancel(item, on),)
    after = opened(Record(entries=record.entries, cancellations=gone), on)
    before = opened(record, on)
    closed = after.pop((item.rule, item.site))
    before.pop((item.rule, item.site))
    assert after == before
    assert all(found.due > item.due for found in closed)
