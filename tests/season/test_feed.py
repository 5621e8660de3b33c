"""Each site's stores from heft to feed, when they run low, and what to order."""

from __future__ import annotations

import datetime as dt
import math
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.farm.forecast import Forecast, Spell
from routing.farm.models import Farm
from routing.season.due import Asked, State
from routing.season.entries import Entry, Record
from routing.season.feed import Stores, air_of, carried_forward, last_reading
from routing.season.jobs import with_due_jobs
from routing.season.log import Log
from routing.season.outlook import SiteFeed, feed_outlook
from routing.season.shopping import ToBuy, shopping_list
from routing.stages import plan as plan_stage
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


def test_a_row_of_jobs_csv_is_part_of_the_feed_that_is_due(tmp_path: Path) -> None:
    """Ash's 25 kg are due on 1 January. A row for 4 hives by the 20th of December brings 10 of them: 25 kg, not 35.

    The other 6 hives stay due, as the plan says, so it is not 10 either.
    """
    farm = make_farm(tmp_path, ONLY_FEED + FLAT, jobs="site,kind,hives,due_by\nash,fondant,4,2026-12-20\n")
    entries = (done("ash", "heft", "2026-12-01", stores_kg=8),)
    line = shopping(farm, entries, "2026-12-02", weeks=5)["fondant"]
    assert (line.needed, line.need_by, line.stock, line.packs, line.to_buy) == (25, day("2026-12-20"), None, 2, 0)


@pytest.mark.parametrize(("hives", "kilograms"), [(10, 50), (4, 50)])
def test_a_row_is_ordered_as_large_as_it_is_planned(tmp_path: Path, hives: int, kilograms: float) -> None:
    """On 1 January 2 x 2.5 kg a colony are due at Ash: a row for some or all of its 10 hives is planned and ordered so.

    What the plan loads for the row and what stays due for the other hives add up to the order.
    """
    farm = make_farm(tmp_path, ONLY_FEED + SURE, jobs=f"site,kind,hives\nash,fondant,{hives}\n")
    entries = (done("ash", "heft", "2026-12-01", stores_kg=8),)
    line = shopping(farm, entries, "2027-01-01", weeks=4)["fondant"]
    asked = Asked(farm, Record(entries=entries), day("2027-01-01"))
    (job,) = with_due_jobs(asked).jobs
    loaded = job.hives * job.helpings * 2.5
    assert (loaded, loaded + (10 - hives) * 5) == (hives * 5, kilograms)
    assert line.needed == kilograms


def test_colonies_seen_low_are_fed_what_carries_them_and_it_is_ordered(tmp_path: Path) -> None:
    """20 kg hefted on 1 December, and three colonies seen low on the 10th.

    At the most 5 kg are supposed of each; the level is 5, and 42 days at 0.1 kg take 4.2: 2 x 2.5 kg, 15 kg for three.
    In June no level holds: one helping lasts until another can be taken down, 7 x 0.1 kg.
    """
    farm = make_farm(tmp_path, ONLY_FEED + SURE)
    low = {"seen": ("stores-low",), "seen_in": {"stores-low": 3}}
    entries = (
        done("ash", "heft", "2026-12-01", stores_kg=20),
        done("ash", "storm-check", "2026-12-10", **low),
    )
    found = items(farm, entries, "2026-12-10")["stores-low", "ash"]
    assert (found.hives, found.helpings) == (3, 2)
    assert found.why.endswith("give 5 kg of Fondant a colony")
    assert shopping(farm, entries, "2026-12-10", weeks=4)["fondant"].needed == 15
    (job,) = with_due_jobs(Asked(farm, Record(entries=entries), day("2026-12-10"))).jobs
    assert (job.kind, job.hives, job.helpings, job.rank) == ("fondant", 3, 2, "now")
    june = (done("ash", "weekly-inspection", "2026-06-10", **low),)
    assert items(farm, june, "2026-06-10")["stores-low", "ash"].helpings == 1


def test_a_feed_for_stores_seen_low_is_not_ordered_twice_with_the_feed_by_the_level(tmp_path: Path) -> None:
    """Ash is below its level and all its 10 colonies were seen low: one feed for both, planned, `now`, and ordered once."""
    farm = make_farm(tmp_path, ONLY_FEED + SURE)
    entries = (done("ash", "heft", "2026-12-01", stores_kg=5, seen=("stores-low",)),)
    asked = Asked(farm, Record(entries=entries), day("2026-12-04"))
    (job,) = with_due_jobs(asked).jobs
    assert (job.hives, job.rank) == (10, "now")
    line = shopping(farm, entries, "2026-12-04", weeks=2)["fondant"]
    assert line.needed == 10 * job.helpings * 2.5


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


def readings(farm: Farm, *entries: Entry) -> dict[dt.date, Stores]:
    air = air_of(farm)
    reading = last_reading(farm, entries, farm.site("ash"), air)
    assert reading is not None
    return {one.date: one for one in carried_forward(reading, reading.season.ends, air)}


def test_neither_a_heft_nor_a_feed_brings_the_colonies_together(tmp_path: Path) -> None:
    """In February the colonies of a site differ as much after a fresh heft and a feed as with the heft of October."""
    farm, on = make_farm(tmp_path), day("2027-02-10")
    autumn = done("ash", "heft", "2026-10-01", stores_kg=24)
    fresh = done("ash", "heft", "2027-02-01", stores_kg=16)
    fed = done("ash", "fondant", "2027-02-02", materials={"fondant": 25})
    old, new = readings(farm, autumn)[on], readings(farm, autumn, fresh, fed)[on]
    assert new.between_kg == pytest.approx(old.between_kg)
    assert new.between_kg > 4.5
    assert new.error_kg < old.error_kg


def test_hefts_of_single_colonies_teach_how_far_a_site_spreads(tmp_path: Path) -> None:
    """Two farms hefted on 20 August, four colonies one by one, 12 kg on the mean: all alike, or 6 to 18 kg.

    The variances 0 and 24 kg2, three degrees of freedom, are pooled with the belief's 2.5 kg, six: (6 x 6.25 + 0) / 9
    = 4.17 and (37.5 + 72) / 9 = 12.17. Around the mean of their own ten colonies: x (1 - 1 / 10).
    """
    farm = make_farm(tmp_path)
    found = []
    for each in ((12, 12, 12, 12), (6, 10, 14, 18)):
        hefts = [done("ash", "heft", "2026-08-20", stores_kg=kg, hives=1) for kg in each]
        stores = readings(farm, *hefts)[day("2026-08-20")]
        assert stores.mean_kg == 12
        found.append(stores.between_kg)
    variance = (36 + 4 + 4 + 36) / 3
    assert found[0] == pytest.approx(math.sqrt(0.9 * 37.5 / 9))
    assert found[1] == pytest.approx(math.sqrt(0.9 * (37.5 + 3 * variance) / 9))


def test_the_heft_of_a_few_colonies_says_less_of_the_site(tmp_path: Path) -> None:
    """Two of ten: the error of their mean is that of a heft and 2.5 x sqrt(1/2 - 1/10) in quadrature."""
    farm = make_farm(tmp_path)
    few = readings(farm, done("ash", "heft", "2026-08-20", stores_kg=12, hives=2))[day("2026-08-20")]
    every = readings(farm, done("ash", "heft", "2026-08-20", stores_kg=12))[day("2026-08-20")]
    assert every.error_kg == pytest.approx(1.0)
    assert few.error_kg == pytest.approx(math.hypot(1.0, 2.5 * math.sqrt(0.4)))


def test_the_forecast_and_a_warm_winter_are_reckoned_with(tmp_path: Path) -> None:
    """A forecast day of 10.2 degrees in December against 4.2 to be expected: 6 x 0.0072 kg more used that day."""
    farm, on = make_farm(tmp_path), day("2026-12-10")
    begins = dt.datetime(2026, 12, 10, tzinfo=dt.UTC)
    hours = (
        Spell(
            begins=begins + dt.timedelta(hours=hour),
            ends=begins + dt.timedelta(hours=hour + 1),
            temperature_c=10.7,
            rain_mm_an_hour=0,
            wind_kmh=5,
        )
        for hour in range(24)
    )
    milder = farm.model_copy(update={"forecast": Forecast(spells=tuple(hours), source="weather.csv")})
    assert air_of(milder).use_kg(on) - air_of(farm).use_kg(on) == pytest.approx(6 * 0.0072)
    assert air_of(milder).use_kg(on + dt.timedelta(days=1)) == air_of(farm).use_kg(on + dt.timedelta(days=1))
    warm = make_farm(tmp_path, "[feed]\nwarmer_by_c = 3\n")
    assert air_of(warm).use_kg(on) - air_of(farm).use_kg(on) == pytest.approx(3 * 0.0072)


def test_a_feed_lasts_to_the_next_planned_visit_in_whole_helpings(tmp_path: Path) -> None:
    """8 kg on 1 December at 0.1 a day: below 5 on 1 January with 4.9. For 42 days more 4.2 + 0.1 are needed: 2 x 2.5 kg.

    9.9 kg - 0.1 a day from the 2nd: 4.9 + 5 = 9.9 on 1 January, below 5 on 20 February, which is past the 42 days.
    """
    farm = make_farm(tmp_path, ONLY_FEED + SURE)
    entries = (done("ash", "heft", "2026-12-01", stores_kg=8),)
    first, second = outlook(farm, entries, "2026-12-02", weeks=15)["ash"].feedings[:2]
    assert (first.date, first.helpings, first.amount) == (day("2027-01-01"), 2, 50)
    assert second.date == day("2027-02-20")


def test_due_plan_feed_and_the_order_agree_on_kilograms(tmp_path: Path) -> None:
    """The same 50 kg on 1 January: on the due list, in the job, on the van of the checked round, in feed and the order."""
    farm = make_farm(tmp_path, ONLY_FEED + SURE + "[stock]\nfondant = 500\n")
    held = {"ash": 8, "beck": 30, "cote": 30}
    entries = tuple(done(site, "heft", "2026-12-01", stores_kg=kg) for site, kg in held.items())
    Log.open(tmp_path).add_all(entries)
    on = day("2027-01-01")
    item = items(farm, entries, "2027-01-01")["winter-feed", "ash"]
    assert "give 5 kg of Fondant a colony" in item.why
    feeding = outlook(farm, entries, "2027-01-01", weeks=1)["ash"].feedings[0]
    assert (feeding.date, feeding.amount, feeding.helpings) == (item.due, 50, item.helpings)
    round_ = plan_stage.plan(farm, on)
    assert [line.amount for line in round_.itineraries[0].load.out if line.material == "fondant"] == [50]
    assert shopping(farm, entries, "2027-01-01", weeks=1)["fondant"].likely == 50


def test_an_unhefted_site_is_due_to_be_hefted_and_fed_in_autumn_and_feed_is_ordered_for_it(tmp_path: Path) -> None:
    """Silent in August 2026: due by 5 September, listed, planned and ordered for; a heft answers it."""
    farm = make_farm(tmp_path)
    begin = done("cote", "unite", "2026-06-01")
    found = items(farm, (begin,), "2026-09-01")["autumn-feed", "ash"]
    assert (found.due, found.state) == (day("2026-09-05"), State.DUE)
    assert "heft, and feed to 20 kg" in found.why
    line = shopping(farm, (begin,), "2026-09-01")["syrup"]
    assert line.unhefted == line.likely >= found.helpings * 5 * 30
    assert line.needed >= line.likely
    hefted = (begin, done("ash", "heft", "2026-09-01", stores_kg=38))
    assert ("autumn-feed", "ash") not in items(farm, hefted, "2026-09-02")


def test_what_is_past_sense_is_not_told_as_the_next_feed(tmp_path: Path) -> None:
    """Not hefted in autumn, or low in February and not fed: in October and in June the one says heft, the other nothing."""
    farm = make_farm(tmp_path)
    begin = done("cote", "unite", "2026-06-01")
    assert outlook(farm, (begin,), "2026-09-20")["ash"].low_on == day("2026-09-05")
    assert outlook(farm, (begin,), "2026-10-20")["ash"].low_on is None
    low = (begin, done("ash", "heft", "2027-02-01", stores_kg=9))
    assert outlook(farm, low, "2027-03-01")["ash"].low_on == day("2027-02-01")
    assert outlook(farm, low, "2027-06-01")["ash"].low_on is None


def test_a_feed_of_which_no_amount_is_written_counts_as_one_helping(flat: Farm) -> None:
    """4 kg and 2.5 kg of fondant: 6.5 less a day's 0.1 on the day after."""
    entries = (done("ash", "heft", "2026-12-01", stores_kg=4), done("ash", "fondant", "2026-12-01"))
    now = outlook(flat, entries, "2026-12-02")["ash"].now
    assert now is not None
    assert now.mean_kg == pytest.approx(6.4)


def test_an_order_for_sites_hefted_in_october_first_has_the_fondant_that_those_hefts_will_ask_for(
    tmp_path: Path,
) -> None:
    """Nothing is known on 1 September, 10 kg are supposed, and syrup is asked for once: no more than 8 kg a colony.

    The hefts from 1 October on find some sites below the level, and the order of 1 September reaches until the 13th.
    """
    farm = make_farm(tmp_path, "[stock]\nfondant = 0\nsyrup = 0\n")
    lines = shopping(farm, (done("cote", "storm-check", "2026-08-25"),), "2026-09-01")
    assert lines["fondant"].needed > 0
    assert lines["syrup"].needed >= 10 * 30


def test_nothing_is_ordered_for_work_that_may_be_done_and_is_not_planned(tmp_path: Path) -> None:
    """The log begins on 18 November: whether guards, due on 24 October, are on is not known, so none are ordered."""
    entries = (done("ash", "heft", "2026-11-18", stores_kg=25),)
    assert "mouse-guard" not in shopping(make_farm(tmp_path), entries, "2026-11-20")
    before = (done("ash", "heft", "2026-09-01", stores_kg=25),)
    assert shopping(make_farm(tmp_path), before, "2026-11-20")["mouse-guard"].needed == 30
