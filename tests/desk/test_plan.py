"""Planning at the desk: by pointer, by keys alone and by name; nothing that breaks a rule is called done or written.

The farm is that of `two_crews.py`, where its drives are told.
"""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page

from tests.desk.served import Opened, Served
from tests.desk.two_crews import JUNE, ONE, TWO, written
from tests.share.axe import violations


@pytest.fixture
def desk(two_crews: Served) -> Served:
    return two_crews


def panel(opened: Opened) -> Page:
    page = opened.page(f"/tomorrow?on={JUNE.isoformat()}")
    page.locator(".plan-trial").wait_for(state="attached")
    if page.locator("[data-open]").is_visible():
        page.locator("[data-open]").press("Enter")
    page.locator(".plan-trial").wait_for()
    return page


def names(page: Page, day: str = ONE) -> list[str]:
    rows = page.locator(f'.plan-day[data-day="{day}"] li[data-job]')
    return [row.get_attribute("data-name") or "" for row in rows.all()]


def said(page: Page, words: str) -> str:
    """Return what is read out, once these words are in it."""
    page.locator("#plan-live", has_text=words).wait_for()
    return page.locator("#plan-live").inner_text()


def focused(page: Page) -> str:
    """Return the name by which a screen reader knows what has the focus."""
    return str(page.evaluate("document.activeElement.getAttribute('aria-label') || ''"))


def focus(page: Page, name: str) -> None:
    """Go to the number of a stop by the Tab key alone."""
    for _ in range(60):
        page.keyboard.press("Tab")
        if focused(page).startswith(f"{name}: stop"):
            return
    raise AssertionError(f"the Tab key does not come to {name}")


def faults(page: Page) -> list[str]:
    """Return the rules of axe-core that the page itself breaks; the map in its frame is tested by itself."""
    return [f"{rule}: {elements[0]}" for rule, elements in violations(page).items()]


def test_the_days_show_the_times_of_the_written_round_to_the_second(desk: Served, browser: Browser) -> None:
    with desk.opened(browser) as opened:
        page = panel(opened)
        (day,) = written(desk).itineraries
        rows = page.locator("li[data-job]").all()
        shown = [[row.get_attribute(f"data-{name}") for name in ("arrive", "start", "finish")] for row in rows]
        assert shown == [[each.isoformat() for each in (stop.arrive, stop.start, stop.finish)] for stop in day.stops]
        section = page.locator(f'.plan-day[data-day="{ONE}"]')
        assert section.get_attribute("data-leave") == day.leave.isoformat()
        assert section.get_attribute("data-home") == day.home.isoformat()
        assert names(page) == ["A", "B", "C", "D"]


def test_a_stop_is_moved_by_keys_alone_and_told_with_every_step(desk: Served, browser: Browser) -> None:
    """B A C D is home at 13:00, just in time; C B A D at 13:05, which is told at its place and never called done."""
    with desk.opened(browser) as opened:
        page = panel(opened)
        focus(page, "A")
        page.keyboard.press("Enter")
        assert "taken up" in said(page, "A taken up")
        page.keyboard.press("ArrowDown")
        assert said(page, "stop 2 of 4") == "A: stop 2 of 4, One."
        page.keyboard.press("Enter")
        assert said(page, "A moved") == "A moved. Every rule is kept; home 13:00."
        assert names(page) == ["B", "A", "C", "D"]
        assert "A: stop 2 of 4" in focused(page)
        for _ in range(2):
            page.keyboard.press("Tab")
        focus(page, "C")
        page.keyboard.press("Alt+ArrowUp")
        said(page, "Home at 13:25, 25 min after the crew must be (13:00).")
        page.keyboard.press("Alt+ArrowUp")
        said(page, "Home at 13:05, 5 min after the crew must be (13:00).")
        assert "before dark" not in page.locator(".plan-trial").inner_text()
        assert page.locator("[data-keep]").is_disabled()
        page.keyboard.press("Control+z")
        said(page, "Taken back")
        page.keyboard.press("Control+z")
        page.keyboard.press("Control+y")
        said(page, "Done again")
        page.keyboard.press("Enter")
        page.keyboard.press("ArrowUp")
        page.keyboard.press("Escape")
        said(page, "put back")


def test_a_stop_is_dragged_in_the_list_on_the_day_line_and_to_another_crew(desk: Served, browser: Browser) -> None:
    with desk.opened(browser) as opened:
        page = panel(opened)

        def drag(start: str, end: str, *, below: bool) -> None:
            one, other = page.locator(start).bounding_box(), page.locator(end).bounding_box()
            assert one is not None
            assert other is not None
            page.mouse.move(one["x"] + one["width"] / 2, one["y"] + one["height"] / 2)
            page.mouse.down()
            page.mouse.move(one["x"] + 20, one["y"] + 20)
            page.mouse.move(other["x"] + 15, other["y"] + other["height"] * (0.8 if below else 0.2), steps=4)
            page.mouse.up()

        page.locator('li[data-name="A"]').scroll_into_view_if_needed()
        drag('li[data-name="A"] .grip', 'li[data-name="B"]', below=True)
        said(page, "A moved. Every rule is kept; home 13:00.")
        assert names(page) == ["B", "A", "C", "D"]
        line = f'.plan-day[data-day="{ONE}"] .for-paper .day-line'
        page.locator(line).scroll_into_view_if_needed()
        drag(f'{line} g[data-stop="1"] .what', f'{line} g[data-stop="2"] .what', below=True)
        said(page, "B moved")
        assert names(page) == ["A", "B", "C", "D"]
        page.locator(f'.plan-day[data-day="{TWO}"]').scroll_into_view_if_needed()
        drag('li[data-name="D"] .grip', f'.plan-day[data-day="{TWO}"] .plan-idle', below=True)
        said(page, "D moved")
        assert (names(page), names(page, TWO)) == (["A", "B", "C"], ["D"])


def test_a_stop_is_left_out_added_sent_and_pinned_by_buttons_and_all_is_undone(desk: Served, browser: Browser) -> None:
    with desk.opened(browser) as opened:
        page = panel(opened)
        page.locator('li[data-name="D"] summary').click()
        page.locator('li[data-name="D"] button', has_text="Leave out").click()
        said(page, "D left out")
        assert names(page) == ["A", "B", "C"]
        page.get_by_role("button", name="Add D").click()
        said(page, "D added")
        assert names(page) == ["A", "B", "C", "D"]
        page.locator('li[data-name="C"] summary').click()
        page.locator('li[data-name="C"] button', has_text="Pin to its place").click()
        said(page, "C pinned")
        assert page.locator('li[data-name="C"] .plan-pin').inner_text() == "pinned to its place"
        page.locator('li[data-name="D"] summary').click()
        page.locator('li[data-name="D"] [data-do="send"]').click()
        said(page, "D sent")
        assert names(page, TWO) == ["D"]
        for _ in range(4):
            page.keyboard.press("Control+z")
        page.locator('[data-do="undo"][disabled]').wait_for()
        assert names(page) == ["A", "B", "C", "D"]


def test_a_second_window_never_changes_what_it_has_not_seen(desk: Served, browser: Browser) -> None:
    with desk.opened(browser) as opened:
        first, second = panel(opened), panel(opened)
        first.locator('li[data-name="A"] [data-step="1"]').click()
        said(first, "A moved")
        second.locator('li[data-name="D"] [data-step="-1"]').click()
        assert said(second, "in another window").startswith("These days had changed meanwhile")
        assert names(second) == ["B", "A", "C", "D"]
        second.locator('li[data-name="D"] [data-step="-1"]').click()
        said(second, "D moved")
        assert names(second) == ["B", "A", "D", "C"]


@pytest.mark.parametrize("width", [360, 1280])
def test_every_state_of_the_panel_is_free_of_faults_for_a_screen_reader(
    desk: Served, browser: Browser, width: int
) -> None:
    """Whole, broken with a stop's acts open, and with a chance."""
    with desk.opened(browser, width) as opened:
        page = panel(opened)
        assert faults(page) == []
        page.locator("[data-chance]").click()
        page.locator(".plan-chance h2").wait_for()
        assert faults(page) == []
        page.locator('li[data-name="C"] [data-step="-1"]').click()
        said(page, "C moved")
        page.locator('li[data-name="C"] [data-step="-1"]').click()
        said(page, "does not hold")
        page.locator('li[data-name="C"] summary').click()
        assert faults(page) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_the_page_says_at_once_that_planning_is_being_got_ready_and_what_to_do_where_it_is_not(
    desk: Served, browser: Browser
) -> None:
    """The first words are in the page as it is sent; where the desk answers no more, they say what to do."""
    assert "Getting ready to plan" in desk.get(f"/tomorrow?on={JUNE.isoformat()}").text
    with desk.opened(browser) as opened:
        page = panel(opened)
        assert not page.locator("#plan-waiting").count()
        page.route("**/plan/panel*", lambda route: route.abort())
        page.reload()
        page.locator("#plan-waiting", has_text="Load this page again").wait_for()
        page.unroute("**/plan/panel*")
        opened.troubles[:] = [one for one in opened.troubles if "ERR_FAILED" not in one]
