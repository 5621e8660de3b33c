"""Each site's stores from heft to feed, when they run low, and what to order."""

from __future__ import annotations

import datetime as dt
import math
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.farm.models import Farm
from routing.season.due import Asked, State
from routing.season.entries import Entry, Record
from routing.season.feed import Stores, air_of, carried_forward, last_reading
from routing.season.outlook import SiteFeed, feed_outlook
from routing.season.shopping import ToBuy, shopping_list
from tests.season.small_farm import SITES_CSV, day, done, items, make_farm

ONLY_FEED = "".join(
    f"[due.{rule}]\nwanted = false\n"
    for rule in (
        *("first-inspection", "weekly-inspection", "supers-on", "clearer-boards", "strips-in", "heft", "mouse-guards"),
        *("entrance-blocks", "woodpecker-netting", "insulation", "oxalic", "guards-off", "floor-change"),
    )
)
SURE = (
    "[due.winter-feed]\nstores_below_kg = 5\n"
    "[feed]\nuse_kg_a_day = 0.1\nwarmer_kg_a_day = 0\nbrood_kg_a_day = 0\ncolony_spread_kg = 0\nuse_spread_share = 0\n"
    "site_use_share = 0\nheft_error_kg = 0\nwinter_spread_c = 0\nunknown_spread_kg = 0\n"
)
"""A farm where every colony is alike and uses 0.1 kg a day, and all of it is known."""
FLAT = SURE + "feed_lasts_days = 1\n"
"""The same, fed one helping at a time."""


def outlook(farm: Farm, entries: tuple[Entry, ...], on: str, weeks: int = 6) -> dict[str, SiteFeed]:
    return {feed.site: feed for feed in feed_outlook(Asked(farm, Record(entries=entries), day(on)), weeks)}


def shopping(farm: Farm, entries: tuple[Entry, ...], on: str, weeks: int = 6) -> dict[str, ToBuy]:
    return {line.material: line for line in shopping_list(Asked(farm, Record(entries=entries), day(on)), weeks)}


@pytest.fixture
def flat(tmp_path: Path) -> Farm:
    return make_farm(tmp_path, ONLY_FEED + FLAT + "[stock]\nfondant = 25\n")


def test_stores_go_down_from_the_heft_and_up_by_the_feed(flat: Farm) -> None:
    """10 kg on 1 December, less 10 x 0.1 by the 11th; 30 kg of fondant over 10 hives bring 3: 12 kg, 11.5 five days on."""
    entries = (
        done("ash", "heft", "2026-12-01", stores_kg=10),
        done("ash", "fondant", "2026-12-11", materials={"fondant": 30}),
    )
    kg = [outlook(flat, entries, on)["ash"].now for on in ("2026-12-11", "2026-12-12", "2026-12-16")]
    assert [round(stores.mean_kg, 6) for stores in kg if stores] == [9.0, 11.9, 11.5]


def test_the_next_feed_is_due_when_the_weakest_tenth_runs_low(flat: Farm) -> None:
    """8 kg on 1 December at 0.1 a day: 5.0 on the 31st, below 5 from 1 January; on the 5th it is 4 days over.

    Fed 2.5 kg a colony that day, 4.5 - 0.1 + 2.5 = 6.9 on the 6th, below 5 from the 26th.
    """
    entries = (done("ash", "heft", "2026-12-01", stores_kg=8),)
    assert outlook(flat, entries, "2026-12-02")["ash"].low_on == day("2027-01-01")
    found = items(flat, entries, "2027-01-05")["winter-feed", "ash"]
    assert (found.state, found.days_overdue) == (State.OVERDUE, 4)
    fed = (*entries, done("ash", "fondant", "2027-01-05", materials={"fondant": 25}))
    again = items(flat, fed, "2027-01-05")["winter-feed", "ash"]
    assert (again.state, again.due) == (State.COMING, day("2027-01-26"))


def test_nothing_is_carried_through_the_months_of_forage(flat: Farm) -> None:
    """A heft in June says nothing of October, and before the first heft of autumn nothing is known."""
    entries = (done("ash", "heft", "2026-06-20", stores_kg=20),)
    assert outlook(flat, entries, "2026-10-10")["ash"].hefted_on is None
    assert outlook(flat, (), "2026-10-10")["ash"].now is None


def test_fondant_is_ordered_in_whole_boxes_against_the_stock(flat: Farm) -> None:
    """Ash runs low on 1 January (10 hives x 2.5 = 25 kg, which the stock of 25 covers), Beck on 11 January (8 x 2.5 = 20).

    9 kg - 41 x 0.1 = 4.9 on 11 January. In six weeks from 2 December both are needed: 45 kg, so 20 are short, two boxes
    of 12.5 kg, needed by the 11th and, with a week to come, ordered by the 4th.
    """
    entries = (done("ash", "heft", "2026-12-01", stores_kg=8), done("beck", "heft", "2026-12-01", stores_kg=9))
    line = shopping(flat, entries, "2026-12-02")["fondant"]
    assert (line.needed, line.stock, line.packs, line.to_buy, line.pack) == (45, 25, 2, 25, "box of 12.5 kg")
    assert (line.need_by, line.order_by) == (day("2027-01-11"), day("2027-01-04"))
    short = shopping(flat, entries, "2026-12-02", weeks=5)["fondant"]
    assert (short.needed, short.packs, short.order_by) == (25, 0, None)


def test_what_the_due_jobs_take_is_on_the_list_with_the_day_it_is_due(tmp_path: Path) -> None:
    """30 hives, 12 guards in stock: 18 to buy, all needed by 24 October, the day before the first frost."""
    farm = make_farm(tmp_path, "[stock]\nmouse-guard = 12\n")
    line = shopping(farm, (done("cote", "unite", "2026-06-01"),), "2026-10-01")["mouse-guard"]
    assert (line.needed, line.to_buy, line.need_by) == (30, 18, day("2026-10-24"))


def test_a_row_of_jobs_csv_stands_in_for_the_first_feed(tmp_path: Path) -> None:
    """Ash's 25 kg are written down as a job for 4 hives: 10 kg are needed there, not 35."""
    farm = make_farm(tmp_path, ONLY_FEED + FLAT, jobs="site,kind,hives,due_by\nash,fondant,4,2026-12-20\n")
    entries = (done("ash", "heft", "2026-12-01", stores_kg=8),)
    line = shopping(farm, entries, "2026-12-02", weeks=5)["fondant"]
    assert (line.needed, line.stock, line.packs, line.to_buy) == (10, None, 1, 0)


@given(st.floats(0, 40), st.integers(0, 120), st.floats(-5, 15))
@settings(deadline=None, max_examples=40)
def test_the_band_holds_the_mean_and_milder_winters_never_last_longer(kg: float, ahead: int, mean_c: float) -> None:
    farm = _farm()
    entries = (done("ash", "heft", "2026-11-01", stores_kg=kg),)
    until = day("2026-11-01") + dt.timedelta(days=ahead)
    ends = []
    for warmer in (0.0, 2.0):
        told = {day("2026-11-01") + dt.timedelta(days=n): mean_c + warmer for n in range(ahead + 1)}
        air = air_of(farm, told)
        reading = last_reading(farm, entries, farm.site("ash"), air)
        assert reading is not None
        stores = carried_forward(reading, until, air)
        assert all(one.weakest_kg <= one.mean_kg <= one.strongest_kg for one in stores)
        ends.append(stores[-1])
    assert ends[1].mean_kg <= ends[0].mean_kg
    assert ends[1].weakest_kg <= ends[0].weakest_kg


@cache
def _farm() -> Farm:
    import tempfile  # noqa: PLC0415 - hypothesis wants no fixture that lives through its examples

    return make_farm(Path(tempfile.mkdtemp()), sites=SITES_CSV)
