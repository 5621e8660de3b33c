"""In a field with no signal the page says how far behind the crew is, and what still fits, as the program would."""

import datetime as dt
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from routing.farm.folder import read_farm
from routing.planning.ask.moment import Moment
from routing.round import Round
from routing.share.pages.helper_page import helper_page
from routing.share.pages.locked import lock_page
from routing.share.report.done import Done, KeptPlace, read_done
from routing.share.report.done_check import require_of_day
from routing.share.report.written_days import days_of
from routing.stages import ask as ask_stage
from routing.stages import plan as plan_stage
from tests.share.axe import violations
from tests.share.browser import CHROMIUM, UNFOLD, Opener, no_sideways_scroll
from tests.share.sample import HOSTILE
from tests.share.test_locked import PASSPHRASE

pytestmark = pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer")

FARM = read_farm(Path("examples/four-sites"))
JUNE = dt.date(2026, 6, 10)


@pytest.fixture(scope="module")
def planned() -> Round:
    """Damson 08:30 to 09:20, Cherry 09:30, Birch 10:30, Alder 11:30 to 12:20, home 12:30: wanted by 13:00."""
    return plan_stage.plan(FARM, JUNE)


@pytest.fixture(scope="module")
def short() -> Round:
    """Home by 12:15: Cherry 08:20, Birch, Alder until 11:10; Damson, a want of 50 min, is left out."""
    (crew,) = FARM.crews
    crews = (crew.model_copy(update={"home_by": dt.time(12, 15)}),)
    return plan_stage.plan(FARM.model_copy(update={"crews": crews}), JUNE)


MARKS = {"D": "1", "C": "2", "B": "3", "A": "4"}


def at(opened: Opener, html: str, clock: str, width: int = 360) -> Page:
    """Return the page as it is looked at on the round's day at that time, which is an hour less in UTC."""
    page = opened(html, width, timezone_id="Europe/London")
    page.clock.set_fixed_time(dt.datetime.fromisoformat(f"2026-06-10T{clock}:00+01:00"))
    page.reload()
    return page


def ask(page: Page) -> None:
    page.locator("#field-ask").click()
    page.get_by_role("button", name="Keep this").wait_for()


def order(page: Page, box: str = "#field-answer") -> list[str]:
    return page.locator(f"{box} .order a").all_inner_texts()


def report(page: Page) -> Done:
    return read_done(page.locator("#report").input_value())


def tick(page: Page, *sites: str) -> None:
    for site in sites:
        page.locator(f"#stop-{MARKS[site]} [data-job]").check()


def stand(page: Page, site: str) -> None:
    page.locator("#field-from").select_option(str(int(MARKS[site]) - 1))


@pytest.mark.parametrize(
    ("clock", "ticked", "words"),
    [
        ("07:30", (), "Not left yet: leave by 08:00."),
        ("08:40", (), "On time; home 12:30."),  # it works at Damson until 09:20
        ("09:40", (), "20 min behind; home 12:50."),
        ("10:20", ("D", "C"), "On time; home 12:30."),
        ("10:10", ("D", "C"), "10 min ahead; home 12:20."),
        ("11:00", ("D", "C"), "40 min behind; home would be 10 min late."),
    ],
)
def test_behind_or_ahead_is_told_all_day(
    opened: Opener, planned: Round, clock: str, ticked: tuple[str, ...], words: str
) -> None:
    page = at(opened, helper_page(planned, 0), clock)
    tick(page, *ticked)
    assert page.locator("#pace span").inner_text() == words
    page.evaluate("window.scrollTo(0, 1e6)")
    expect(page.locator("#pace")).to_be_in_viewport()


@pytest.mark.parametrize(
    ("clock", "here", "done"), [("10:31", "B", ("A", "B")), ("08:50", "A", ("A",)), ("11:30", "B", ("B",))]
)
def test_it_answers_as_the_program_at_home_would(
    opened: Opener, planned: Round, clock: str, here: str, done: tuple[str, ...]
) -> None:
    """The same stops in the same order, home in the same minute, the same jobs dropped."""
    page = at(opened, helper_page(planned, 0), clock)
    tick(page, *done)
    stand(page, here)
    ask(page)
    told = ask_stage.replan(FARM, JUNE, "one", Moment(at=dt.time.fromisoformat(clock), here=here, done=done))
    names = {site.id: site.name for site in FARM.sites}
    (day,) = told.itineraries
    assert [text.split(" ", 1)[1] for text in order(page)] == [names[stop.site] for stop in day.stops]
    assert page.locator("#field-answer .strong").last.inner_text() == f"Home {day.home:%H:%M}."
    left = page.locator("#field-answer .plain li").all_inner_texts()
    assert {line.split(" ", 1)[1].split(",")[0] for line in left} == {names[each.site] for each in told.left_out}


def test_a_dropped_job_says_by_how_much_it_does_not_fit(opened: Opener, planned: Round) -> None:
    """At B at 10:31 C and D would be home at 13:01; without the want D it is 10 + 50 + 20: 11:51."""
    page = at(opened, helper_page(planned, 0), "10:31")
    tick(page, "A", "B")
    stand(page, "B")
    ask(page)
    assert page.locator("#field-answer .plain li").all_inner_texts() == [
        "1 Damson, Weekly inspection, 5 hives, want: put where it is least late, home would be 1 min late."
    ]
    assert page.locator("#field-answer").inner_text().count("Every set of the jobs left was looked at") == 1
    assert page.locator("#field-answer p").all_inner_texts()[:2] == [
        "Still fits: 1 of the 2 jobs left; 1 left out.",
        "Left out: 1 Damson. Home 11:51.",
    ]


def test_the_order_that_is_found_is_on_the_map_and_a_line_of_the_day(opened: Opener, planned: Round) -> None:
    page = at(opened, helper_page(planned, 0), "10:31")
    tick(page, "A", "B")
    stand(page, "B")
    assert page.locator(".kept-way").count() == 0
    ask(page)
    told = page.locator(".kept-line").get_attribute("aria-label") or ""
    assert told == "The line of this order: 2 Cherry 10:41 to 11:31; home 11:51"
    assert page.locator(".kept-line .mark-of").all_text_contents() == ["2"]
    assert page.locator(".kept-way").count() == 1
    page.get_by_role("button", name="Keep this").click()
    assert page.locator(".kept-way").count() == 1
    page.get_by_role("button", name="Back to the plan").click()
    assert page.locator(".kept-way").count() == 0


def test_on_the_way_counts_what_is_driven(opened: Opener, planned: Round) -> None:
    """Damson ticked at 09:20, five of the ten minutes to Cherry gone: there at 09:30; back at Damson at 09:30 too."""
    page = at(opened, helper_page(planned, 0), "09:20")
    tick(page, "D")
    page.clock.set_fixed_time(dt.datetime.fromisoformat("2026-06-10T09:25:00+01:00"))
    page.locator("#field-from").select_option("way")
    ask(page)
    told = page.locator("#field-answer").inner_text()
    assert "On the way from 1 Damson to 2 Cherry at 09:25:" in told
    assert "The first drive counts 5 min as driven" in told
    assert "09:30 to 10:20" in told
    page.get_by_role("button", name="Keep this").click()
    page.reload()
    assert page.locator("#pace span").inner_text() == "On time; home 12:30."


def test_half_done_hives_make_room(opened: Opener, planned: Round) -> None:
    """With 1 of C's 5 hives done 8 min less are needed there: then D fits too."""
    page = at(opened, helper_page(planned, 0), "10:31")
    tick(page, "A", "B")
    page.locator("#stop-2 [data-part]").fill("1")
    stand(page, "B")
    ask(page)
    assert order(page) == ["2 Cherry", "1 Damson"]
    assert "4 of 5 hives left" in page.locator("#field-answer").inner_text()


def test_what_is_kept_outlives_a_reload_goes_home_in_the_report_and_can_be_taken_back(
    opened: Opener, planned: Round
) -> None:
    page = at(opened, helper_page(planned, 0), "10:31")
    tick(page, "A", "B")
    stand(page, "B")
    ask(page)
    page.reload()
    assert order(page) == ["2 Cherry"]  # the answer is still there
    page.get_by_role("button", name="Keep this").click()
    page.reload()
    assert order(page, "#kept") == ["2 Cherry"]
    assert page.locator("#pace span").inner_text() == "On time; home 11:51."
    assert page.locator("#next").inner_text() == "Next: 2 Cherry"
    damson, cherry = report(page).stops[:2]
    assert cherry.kept == KeptPlace(place=1, of=1, finish=dt.datetime(2026, 6, 10, 10, 31, tzinfo=dt.UTC))
    assert damson.kept == KeptPlace(place=0, of=0, finish=None)
    tick(page, "C")
    assert page.locator("#next").inner_text() == "All that was kept is done: home"
    page.get_by_role("button", name="Back to the plan").click()
    page.reload()
    assert not page.locator("#kept").is_visible()
    assert [stop.kept for stop in report(page).stops] == [None] * 4


def test_what_is_on_board_is_counted_from_the_ticks_and_corrected_by_hand(opened: Opener) -> None:
    """Fondant at 2.5 kg a hive: 12.5 kg a site. Four sites, one ticked: 37.5 kg left; with 30 two sites and 2 hives."""
    jobs = tuple(job.model_copy(update={"kind": "fondant"}) for job in FARM.jobs)
    crews = (FARM.crews[0].model_copy(update={"trips_a_day": 1}),)
    farm = FARM.model_copy(update={"jobs": jobs, "crews": crews})
    page = at(opened, helper_page(plan_stage.plan(farm, JUNE), 0), "08:00")
    tick(page, "D")
    page.locator("#field-board summary").click()
    assert page.locator("[data-aboard]").input_value() == "37.5"
    page.locator("[data-aboard]").fill("30")
    page.locator("[data-aboard]").blur()
    page.reload()
    page.locator("#field-board summary").click()
    assert page.locator("[data-aboard]").input_value() == "30"
    ask(page)
    assert len(order(page)) == 3
    assert "2 of the 5 hives left, as far as what is on board goes" in page.locator("#field-answer").inner_text()
    assert "One of them at some of its hives." in page.locator("#field-answer").inner_text()
    tick(page, "C")
    assert page.locator("[data-aboard]").input_value() == "17.5"


def test_more_on_board_than_may_be_is_told_and_nothing_is_sought(opened: Opener) -> None:
    """501 kg of fondant in a van for 500; with 499 it answers."""
    jobs = tuple(job.model_copy(update={"kind": "fondant"}) for job in FARM.jobs)
    page = at(opened, helper_page(plan_stage.plan(FARM.model_copy(update={"jobs": jobs}), JUNE), 0), "08:00")
    page.locator("#field-board summary").click()
    page.locator("[data-aboard]").fill("501")
    page.locator("[data-aboard]").blur()
    page.locator("#field-ask").click()
    told = page.locator("#field-said").inner_text()
    assert "501 kg are on board, and the van may carry 500: correct it there" in told
    assert page.locator("#field-answer").inner_text() == ""
    page.locator("[data-aboard]").fill("499")
    page.locator("[data-aboard]").blur()
    ask(page)
    assert len(order(page)) == 4


def test_ahead_what_is_near_is_offered_ticked_and_told_at_home(opened: Opener, short: Round) -> None:
    """Cherry done at 09:00 in place of 09:10: ten minutes ahead Damson fits, 10 min there and 50 of work, home 12:10."""
    page = at(opened, helper_page(short, 0), "08:50")
    page.locator("#stop-1 [data-job]").check()
    page.locator("#stop-2 [data-job]").check()
    assert page.locator("#count").inner_text() == "2 of 3 jobs done"
    assert page.locator("#pace span").inner_text() == "1 h 20 ahead; home 10:00."
    ask(page)
    told = page.locator("#field-answer").inner_text()
    assert "All that is left still fits. And 1 more near the way." in told
    assert "Weekly inspection, 5 hives, want; not in the plan" in told
    page.get_by_role("button", name="Keep this").click()
    assert page.locator("#next").inner_text() in {"Next: 3 Alder", "Next: A Damson"}
    assert page.locator("#count").inner_text() == "2 of 4 jobs done"
    page.locator("#stop-A [data-job]").check()
    damson = report(page).stops[-1]
    assert (damson.site, damson.jobs[0].id, damson.jobs[0].ticked is not None) == ("D", "jobs.csv:5", True)
    assert damson.kept is not None
    require_of_day(report(page), days_of(short)[0], "Europe/London", "report")


def test_what_is_near_and_not_begun_is_no_part_of_the_report(opened: Opener, short: Round) -> None:
    page = at(opened, helper_page(short, 0), "11:05")
    tick_all = page.locator("#stops [data-job]")
    for number in range(3):
        tick_all.nth(number).check()
    assert page.locator("#next").inner_text() == "All done: home"
    assert [stop.site for stop in report(page).stops] == ["C", "B", "A"]
    ask(page)
    assert "All of the plan is done; nothing near fits." in page.locator("#field-answer").inner_text()
    assert "Near, and does not fit" in page.locator("#field-answer").inner_text()


def test_the_page_of_another_day_says_so_and_asks_for_a_time(opened: Opener, planned: Round) -> None:
    page = opened(helper_page(planned, 0), 360)
    assert page.locator("#pace span").inner_text() == "This page is of Wednesday 10 June 2026, not of today."
    page.locator("#field-ask").click()
    assert page.locator("#field-said").inner_text() == "Type the time first: this page is of another day."
    page.locator("#field-at").fill("08:00")
    ask(page)
    assert len(order(page)) == 4


@pytest.mark.parametrize("width", [360, 1280])
def test_it_fits_a_phone_and_axe_finds_nothing(opened: Opener, planned: Round, width: int) -> None:
    page = at(opened, helper_page(planned, 0), "10:31", width)
    tick(page, "A", "B")
    stand(page, "B")
    ask(page)
    assert violations(page) == {}
    assert no_sideways_scroll(page)
    page.get_by_role("button", name="Keep this").click()
    assert violations(page) == {}
    assert no_sideways_scroll(page)


def test_hostile_names_stay_words(opened: Opener) -> None:
    sites = tuple(site.model_copy(update={"name": HOSTILE}) for site in FARM.sites)
    page = at(opened, helper_page(plan_stage.plan(FARM.model_copy(update={"sites": sites}), JUNE), 0), "10:31")
    ask(page)
    page.get_by_role("button", name="Keep this").click()
    assert page.evaluate("window.hurt") is None
    assert page.locator("#kept img, #kept script").count() == 0


def test_a_worker_does_the_search_and_where_there_is_none_the_page_does(opened: Opener, planned: Round) -> None:
    html = helper_page(planned, 0)
    spied = opened(
        html, 360, before="window.Worker = class extends Worker { constructor(u) { super(u); window.made = u; } }"
    )
    assert spied.evaluate("window.made").startswith("blob:")
    spied.locator("#field-at").fill("10:31")
    ask(spied)
    alone = opened(html, 360, before="window.Worker = undefined")
    alone.locator("#field-at").fill("10:31")
    ask(alone)
    assert order(alone) == order(spied)


def test_a_page_that_was_locked_answers_too(opened: Opener, planned: Round) -> None:
    page = opened(lock_page(helper_page(planned, 0), PASSPHRASE), 360)
    page.locator("#passphrase").fill(PASSPHRASE)
    page.locator("#open").click()
    page.get_by_role("button", name="What still fits?").first.wait_for(timeout=60_000)
    page.evaluate(UNFOLD)
    page.locator("#field-at").fill("08:00")
    ask(page)
    assert len(order(page)) == 4


@pytest.mark.parametrize(
    "kept", ['{"field": 7}', '{"field": {"kept": {"stops": 5}, "from": "99", "at": "x", "board": []}}']
)
def test_what_something_else_stored_there_does_no_harm(opened: Opener, planned: Round, kept: str) -> None:
    page = opened(helper_page(planned, 0), 360)
    page.evaluate("kept => Object.keys(localStorage).forEach(key => localStorage.setItem(key, kept))", kept)
    page.reload()
    assert page.locator("#kept").is_hidden()
    page.locator("#field-at").fill("08:00")
    ask(page)


def test_the_nearest_stop_is_offered_as_the_start(opened: Opener, planned: Round) -> None:
    """A phone that stands 100 m north of Birch."""
    here = {"latitude": 52.3209, "longitude": -2.49, "accuracy": 8.0}
    page = opened(helper_page(planned, 0), 360, geolocation=here, permissions=["geolocation"])
    page.locator("#field [data-where]").click()
    page.get_by_role("button", name="Start from 3 Birch: 0.1 miles to the south").click()
    page.locator("#field-at").fill("10:31")
    ask(page)
    assert "From 3 Birch at 10:31:" in page.locator("#field-answer").inner_text()
    page.get_by_role("button", name="Start from where I am, drives estimated").click()
    ask(page)
    assert "From where the phone is at 10:31:" in page.locator("#field-answer").inner_text()
    assert "estimated from the straight line" in page.locator("#field-answer").inner_text()


def test_a_time_that_is_past_is_not_taken_and_a_tick_asks_anew(opened: Opener, planned: Round) -> None:
    page = at(opened, helper_page(planned, 0), "10:20")
    page.locator("#field-at").fill("09:00")
    page.locator("#field-ask").click()
    assert page.locator("#field-said").inner_text().startswith("That time is past")
    page.locator("#field-at").fill("10:40")
    stand(page, "C")
    ask(page)
    tick(page, "D")
    assert page.locator("#field-answer").inner_text() == ""
    assert page.locator("#field-at").input_value() == ""
    assert page.locator("#field-from").input_value() == ""
