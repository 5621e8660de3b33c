"""Fondant that does not go round is fed as far as it goes, and base is come back to where that does more."""

import datetime as dt
from pathlib import Path

import pytest
from playwright.sync_api import Page

from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.planning.ask.moment import Moment
from routing.round import Round
from routing.share.pages.helper_page import helper_page
from routing.stages import ask as ask_stage
from routing.stages import plan as plan_stage
from tests.share.browser import CHROMIUM, Opener
from tests.share.test_field_browser import MARKS, ask, at, order, tick

FARM = read_farm(Path("examples/four-sites"))
JUNE = dt.date(2026, 6, 10)


def fed(trips: int, home_by: int) -> Farm:
    """Return four sites of five hives that take 12.5 kg of fondant each."""
    jobs = tuple(job.model_copy(update={"kind": "fondant"}) for job in FARM.jobs)
    (crew,) = FARM.crews
    crews = (crew.model_copy(update={"trips_a_day": trips, "home_by": dt.time(home_by)}),)
    return FARM.model_copy(update={"jobs": jobs, "crews": crews})


@pytest.fixture(scope="module")
def day() -> tuple[Farm, Round]:
    farm = fed(2, 17)
    return farm, plan_stage.plan(farm, JUNE)


def moment(planned: Round, on_board: float) -> Moment:
    return Moment(at=dt.time(9), here="D", done=["D"], on_board={"fondant": on_board}, planned=planned)


def hives(rounds: tuple[Round, ...]) -> list[tuple[str, int]]:
    days = [day for rest in rounds for day in rest.itineraries]
    return [(stop.site, job.hives) for day in days for stop in day.stops for job in stop.jobs]


def test_without_a_trip_left_some_hives_of_one_site_are_fed() -> None:
    """20 kg are 8 hives: one site of 5, and 3 of the hives at another."""
    farm = fed(1, 17)
    (rest,) = ask_stage.rest(farm, JUNE, "one", moment(plan_stage.plan(farm, JUNE), 20))
    assert rest.faults == ()
    assert sorted(number for _, number in hives((rest,))) == [3, 5]
    assert sum(job.hives for left in rest.left_out for job in left.jobs) == 7


def test_with_a_trip_left_base_is_come_back_to_and_all_is_fed(day: tuple[Farm, Round]) -> None:
    farm, planned = day
    rounds = ask_stage.rest(farm, JUNE, "one", moment(planned, 20))
    assert [rest.faults for rest in rounds] == [()] * len(rounds)
    assert sorted(hives(rounds)) == [("A", 5), ("B", 5), ("C", 5)]
    assert rounds[-1].left_out == ()
    assert rounds[-1].start is not None
    assert rounds[-1].start.name == FARM.base.name


@pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer")
def test_the_page_comes_back_to_base_too_and_counts_what_was_loaded(opened: Opener, day: tuple[Farm, Round]) -> None:
    farm, planned = day
    page = at(opened, helper_page(planned, 0), "09:00")
    assert planned.itineraries[0].stops[0].site == "D"
    tick(page, "D")
    typed(page, "20")
    ask(page)
    told = page.locator("#field-answer").inner_text()
    assert f"Back at {FARM.base.name}" in told
    assert len(order(page)) == 3
    rounds = ask_stage.rest(farm, JUNE, "one", moment(planned, 20))
    assert f"Home {rounds[-1].itineraries[-1].home:%H:%M}." in told
    page.get_by_role("button", name="Keep this").click()
    assert "behind" not in page.locator("#pace span").inner_text()
    before = float(page.locator("[data-aboard]").input_value())
    page.get_by_role("button", name=f"Loaded again at {FARM.base.name}").click()
    page.reload()
    assert float(page.locator("[data-aboard]").input_value()) > before
    assert page.get_by_role("button", name=f"Loaded again at {FARM.base.name}").count() == 0
    page.get_by_role("button", name="Back to the plan").wait_for()


def typed(page: Page, amount: str) -> None:
    page.locator("#field-board summary").click()
    page.locator("[data-aboard]").fill(amount)
    page.locator("[data-aboard]").blur()
    assert MARKS["D"] == "1"
