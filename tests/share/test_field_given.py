"""What the page knows to reckon the day anew: the planning's own numbers, small, and nothing that it hides."""

import datetime as dt
import json
from pathlib import Path

import pytest

from routing.errors import AskedError
from routing.farm.folder import read_farm
from routing.share.pages.helper_page import helper_page
from routing.share.safety.private import share
from routing.share.wording.field_given import field_given
from routing.stages import plan as plan_stage
from tests.share.sample import alder, sample_round

FARM = read_farm(Path("examples/four-sites"))
JUNE = dt.date(2026, 6, 10)

MOST_BYTES_A_STOP = 700
"""Of one job a stop, two materials and a window; the table of drives, 7 bytes a pair, comes on top."""


def test_the_numbers_of_a_day_on_paper() -> None:
    """Home 13:00 is 46,800 s; 5 hives at 8 min are 480 s each after 600 s of set-up; base to A is 10 min."""
    round_ = plan_stage.plan(FARM, JUNE)
    numbers = round_.itineraries[0].numbers
    assert numbers is not None
    assert (numbers.home_by, numbers.break_seconds, numbers.payload_grams) == (46_800, 0, 500_000)
    assert [stop.site for stop in round_.itineraries[0].stops] == ["D", "C", "B", "A"]
    assert [(job.hives, job.hive_seconds, job.set_up_seconds) for job in numbers.stops[0].jobs] == [(5, 480.0, 600)]
    assert numbers.seconds[0] == (0, 1800, 1200, 1500, 600)
    assert numbers.seconds[4] == (600, 2100, 1500, 600, 0)


def test_it_is_small() -> None:
    round_ = plan_stage.plan(FARM, JUNE)
    given = json.dumps(field_given(round_.itineraries[0], round_.time_zone))
    assert len(given) < 1000 + 4 * MOST_BYTES_A_STOP + 7 * 5 * 5


def test_nicknames_hold_in_it_and_nothing_private_or_elsewhere_is_there() -> None:
    """It tells no place, no gate code, and no site by another name than the rest of the page does."""
    sites = tuple(site.model_copy(update={"gate_code": "4471", "phone": "01234 567890"}) for site in FARM.sites)
    farm = FARM.model_copy(update={"sites": sites})
    shared = share(plan_stage.plan(farm, JUNE), farm, nicknames=True).round
    numbers = shared.itineraries[0].numbers
    assert numbers is not None
    text = json.dumps(field_given(shared.itineraries[0], shared.time_zone))
    page = helper_page(shared, 0)
    for secret in ("Alder", "Birch", "Cherry", "Damson", "4471", "01234 567890"):
        assert secret not in text
        assert secret not in page
    assert "latitude" not in text
    assert "52." not in text


def test_what_is_left_out_near_the_day_is_offered_on_one_page_and_under_nicknames_on_none() -> None:
    """Home by 12:15 Damson is left out: 25 + 10 - 10 min more from Birch by Damson to Cherry, but 50 min of work."""
    (crew,) = FARM.crews
    farm = FARM.model_copy(update={"crews": (crew.model_copy(update={"home_by": dt.time(12, 15)}),)})
    round_ = plan_stage.plan(farm, JUNE)
    numbers = round_.itineraries[0].numbers
    assert numbers is not None
    (near,) = numbers.near
    assert (near.site, near.jobs, near.latitude, near.longitude) == ("D", ("jobs.csv:5",), 52.29, -2.47)
    assert numbers.seconds[0] == (0, 1200, 1500, 600, 1800)
    assert [stop.site for stop in round_.itineraries[0].stops] == ["C", "B", "A"]
    assert "Near, if there is time" in helper_page(round_, 0)
    hidden = share(round_, farm, nicknames=True).round
    numbers = hidden.itineraries[0].numbers
    assert numbers is not None
    assert (numbers.near, len(numbers.stops), len(numbers.seconds)) == ((), 3, 4)
    page = helper_page(hidden, 0)
    assert "Near, if there is time" not in page
    assert "-2.47000" not in page


def test_a_saved_round_holds_only_with_true_numbers_and_gets_those_that_it_lacks() -> None:
    """Whoever changed a number in the file would else send a crew out by it."""
    round_ = plan_stage.plan(FARM, JUNE)
    text = round_.model_dump_json()
    false = text.replace('"home_by":46800', '"home_by":99999')
    assert false != text
    with pytest.raises(AskedError, match="home by in the numbers for the field"):
        plan_stage.saved(FARM, false)
    days = tuple(day.model_copy(update={"numbers": None}) for day in round_.itineraries)
    old = round_.model_copy(update={"itineraries": days})
    assert plan_stage.saved(FARM, old.model_dump_json()).itineraries == round_.itineraries


def test_a_day_without_numbers_says_that_it_is_not_reckoned() -> None:
    """Such as one that moves hives, or of a round that an older program saved."""
    page = helper_page(sample_round(itineraries=(alder(),)), 0)
    assert "This page does not reckon what still fits" in page
    assert 'id="pace"' not in page
    assert 'id="field-ask"' not in page
