"""The page tells the chance that the rest of the day holds, by the rule of the plan, and only where the plan has one."""

import datetime as dt
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Page

from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.plain_words import chance_words
from routing.planning.chance.simulate import days_held, musts_held, simulate
from routing.planning.chance.spread import Spread
from routing.round import Round
from routing.share.pages.helper_page import helper_page
from routing.share.pages.inline import template_text
from routing.stages import plan as plan_stage
from tests.moving_farm import SUMMER, moving_farm
from tests.share.browser import CHROMIUM, Opener
from tests.share.test_field_browser import ask, at, stand, tick

pytestmark = pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer")

FARM = read_farm(Path("examples/four-sites"))
JUNE = dt.date(2026, 6, 10)
FOUR_ERRORS = 4 * math.sqrt(0.25 / 4000 + 0.25 / 10_000)
"""Of the difference of a chance of 4,000 days and one of 10,000, at most."""

SPREAD = {"visit": 0.2, "site": 0.1, "day_work": 0.12, "drive": 0.1, "day_drive": 0.08, "early_seconds": 0}
STEP = {"key": "0", "site": "A", "drive": 0, "rest": 0, "work": 3600, "opens": 0, "closes": 3600, "must": True}
HOLDING = "([spread, steps, end, start, now]) => fieldChance(spread).holding(steps, end, start, now)"


@pytest.fixture(scope="module")
def days(browser: Browser) -> Iterator[Page]:
    page = browser.new_page()
    page.add_script_tag(content=template_text("field_chance.js"))
    yield page
    page.close()


def late(home_by: dt.time) -> Farm:
    (crew,) = FARM.crews
    return FARM.model_copy(update={"crews": (crew.model_copy(update={"home_by": home_by}),)})


def holding(days: Page, steps: list[dict[str, Any]], home_by: float, now: float = 0, **spread: float) -> Any:
    return days.evaluate(HOLDING, [{**SPREAD, **spread}, steps, {"drive": 0, "homeBy": home_by}, 0, now])


def normal_below(number: float) -> float:
    return 0.5 * (1 + math.erf(number / math.sqrt(2)))


@pytest.mark.parametrize("minutes", [50, 55, 60, 66, 75])
def test_one_visit_is_over_in_time_as_the_log_normal_law_says(days: Page, minutes: int) -> None:
    """An hour's work: P(60 min x e^N <= m) = F(ln(m / 60) / s), s the root of the sum of the three squares."""
    deviation = math.sqrt(0.2**2 + 0.1**2 + 0.12**2)
    told = holding(days, [{**STEP, "closes": 60 * minutes}], 10**6)
    assert told["days"] == 4000
    assert told["musts"] == told["whole"] == pytest.approx(normal_below(math.log(minutes / 60) / deviation), abs=0.03)


def test_what_is_known_is_counted(days: Page) -> None:
    """The hour's work that is not over after 60 min: only slow days are left, half of them; P(t <= 66 | t >= 60)."""
    deviation = math.sqrt(0.2**2 + 0.1**2 + 0.12**2)
    told = holding(days, [{**STEP, "closes": 66 * 60}], 10**6, now=3600)
    assert told["days"] == pytest.approx(2000, abs=130)
    assert told["whole"] == pytest.approx(2 * (normal_below(math.log(1.1) / deviation) - 0.5), abs=0.045)
    assert holding(days, [STEP], 10**6, now=3 * 3600) is None  # on hardly any day is it so slow: nothing to go by


def test_a_wait_takes_up_what_is_late_and_the_hours_kept_back_are_there(days: Page) -> None:
    """Work of an hour, then a gate that opens at two hours: on nearly all days it is there before; 0 s of spread: all."""
    gate = {**STEP, "key": "1", "site": "B", "opens": 7200, "closes": 7200 + 3600, "must": False}
    still = dict.fromkeys(("visit", "site", "day_work", "drive", "day_drive"), 0.0)
    assert holding(days, [STEP, gate], 10_800, **still)["whole"] == 1
    assert holding(days, [STEP, gate], 10_799, **still) == {"days": 4000, "whole": 0, "musts": 1}
    assert holding(days, [STEP, gate], 10_799, **still, early_seconds=60)["whole"] == 1


@pytest.mark.parametrize("home_by", [dt.time(12, 40), dt.time(13), dt.time(14)])
def test_at_the_start_it_is_the_chance_of_the_plan(opened: Opener, home_by: dt.time) -> None:
    planned = plan_stage.plan(late(home_by), JUNE)
    assert planned.chance is not None
    page = at(opened, helper_page(planned, 0), "08:00")
    shown = page.locator("#pace small").inner_text().removeprefix("In time on ").split(" %")[0]
    share = 0.9975 if shown.startswith("over") else (float(shown) + 0.5) / 100
    assert share == pytest.approx(planned.chance.whole, abs=FOUR_ERRORS + 0.005)


def simulated_rest(planned: Round, first: int, start: dt.datetime) -> tuple[float, float | None]:
    """Return what the simulation at home says of the stops from one on, left for at a moment."""
    (day,) = planned.itineraries
    rest = day.model_copy(update={"stops": day.stops[first:], "leave": start})
    lived = simulate(planned.model_copy(update={"itineraries": (rest,)}), Spread())
    musts = musts_held(lived)
    return float(days_held(lived).mean()), None if musts is None else float(np.mean(musts))


def test_a_new_order_has_its_own_chance(opened: Opener) -> None:
    """At Birch at 10:25 Cherry and Damson are home at 12:55 of 13:00, on about half of the days; what is kept tells it on."""
    planned = plan_stage.plan(FARM, JUNE)
    page = at(opened, helper_page(planned, 0), "10:25")
    tick(page, "A", "B")
    stand(page, "B")
    ask(page)
    told = page.locator("#field-answer").inner_text()
    assert "of 4,000 simulated days" in told
    share = float(told.split("In time, every visit and home, on ")[1].split(" %")[0]) / 100
    assert 0.3 < share < 0.8
    page.get_by_role("button", name="Keep this").click()
    assert page.locator("#pace small").inner_text() == f"In time on {chance_words(share)} of simulated days."
    page.reload()
    assert page.locator("#pace small").inner_text() == f"In time on {chance_words(share)} of simulated days."


def test_halfway_it_is_what_the_simulation_at_home_says_of_the_rest(opened: Opener) -> None:
    """Two stops ticked at 10:20, when the second is over by the plan: the rest is as at home, from then on."""
    planned = plan_stage.plan(late(dt.time(12, 40)), JUNE)
    (day,) = planned.itineraries
    page = at(opened, helper_page(planned, 0), f"{day.stops[1].finish:%H:%M}")
    page.locator("#stops [data-job]").nth(0).check()
    page.locator("#stops [data-job]").nth(1).check()
    whole, _ = simulated_rest(planned, 2, day.stops[1].finish)
    shown = page.locator("#pace small").inner_text().removeprefix("In time on ").split(" %")[0]
    assert (float(shown) + 0.5) / 100 == pytest.approx(whole, abs=FOUR_ERRORS + 0.005)


def test_a_plan_without_a_chance_shows_none(opened: Opener) -> None:
    planned = plan_stage.plan(FARM, JUNE).model_copy(update={"chance": None})
    page = at(opened, helper_page(planned, 0), "08:00")
    assert page.locator("#pace").inner_text().split("\n")[0] == "On time; home 12:30."
    assert page.locator("#pace small").count() == 0
    ask(page)
    assert "simulated" not in page.locator("#field-answer").inner_text()


def test_a_move_counts_both_of_its_ends(opened: Opener) -> None:
    farm = moving_farm()
    planned = plan_stage.plan(farm, SUMMER)
    assert planned.chance is not None
    (day,) = planned.itineraries
    page = opened(helper_page(planned, 0), 360, timezone_id="Europe/London")
    page.clock.set_fixed_time(day.leave)
    page.reload()
    shown = page.locator("#pace small").inner_text().removeprefix("In time on ").split(" %")[0]
    share = 0.9975 if shown.startswith("over") else (float(shown) + 0.5) / 100
    assert share == pytest.approx(planned.chance.whole, abs=FOUR_ERRORS + 0.005)
