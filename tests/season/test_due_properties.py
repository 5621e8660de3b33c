"""No due date is lost, whatever is written in whichever order."""

from __future__ import annotations

import datetime as dt
import tempfile
from functools import cache
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from routing.farm.models import Farm
from routing.season.due import SOON_DAYS, Asked, Open, State, due_items, open_due
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


def opened(record: Record, on: dt.date) -> dict[tuple[str, str], Open | None]:
    """Return the open due date of every rule at every site, however far ahead."""
    asked = Asked(farm(), record, on)
    return {
        (rule.id, site.id): open_due(rule, site, asked) for rule in asked.season.due.values() for site in farm().sites
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
    """With nothing new logged, what is open on a day is open with the same date on every later day."""
    record = Record(entries=tuple(entry for entry in tuple(written) if entry.date <= on))
    if record.entries:
        now, then = opened(record, on), opened(record, on + dt.timedelta(days=later))
        assert {key: found and (found.opens, found.due) for key, found in now.items()} == {
            key: found and (found.opens, found.due) for key, found in then.items()
        }


@given(entries, dates)
@settings(deadline=None, max_examples=60)
def test_everything_whose_day_has_come_is_listed(written: list[Entry], on: dt.date) -> None:
    record = Record(entries=tuple(written))
    listed = {(item.rule, item.site): item for item in due_items(Asked(farm(), record, on))}
    for key, found in opened(record, on).items():
        if found and found.due <= on + dt.timedelta(days=SOON_DAYS):
            assert listed[key].due == found.due
            assert (listed[key].state in {State.OVERDUE, State.SEASON_OVER}) == (found.due < on)


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
    assert closed is None or closed.due > item.due
