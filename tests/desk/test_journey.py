"""A newcomer's way from nothing to a sent page and a logged report: once by mouse, once by keyboard alone.

Nothing is asked of another host, no address is typed, and no file is touched but by the desk; the crew's page is opened
from disk as on a phone, with no network.
"""

from __future__ import annotations

import re
from pathlib import Path

from playwright.sync_api import Browser, Page, expect

from routing.farm.folder import read_farm
from routing.season.log import Log
from tests.desk.conftest import MAP
from tests.desk.served import Opened, Served

SHEET = "Apiary\tLocation\tHives\tOwner\nOak field\t52.2300, -2.9400\t8\tA. Dunn\nAsh bank\t52.2190, -2.9255\t5\t\n"
"""As a farmer's own spreadsheet may be: with names of its own for the columns, and one that is no business of the desk."""
SOON = 30_000
"""Milliseconds that the desk may take on a crowded computer."""
DAY = "2026-06-06"
"""Day and month are alike, so that it is typed in one way whatever the order that the browser asks for them in."""


def _copied(opened: Opened, text: str) -> None:
    """Put a text on the clipboard, as a spreadsheet or a message does."""
    page = opened.context.new_page()
    page.set_content("<textarea></textarea>")
    page.locator("textarea").fill(text)
    page.locator("textarea").select_text()
    page.keyboard.press("Control+c")
    page.close()


def _report(browser: Browser, file: Path, *, keys: bool) -> str:
    """Tick the first job on the crew's page, and return what it is to be sent back."""
    context = browser.new_context(offline=True, viewport={"width": 360, "height": 740})
    context.clock.set_fixed_time(f"{DAY}T09:00:00Z")  # on the day that the round is of
    page = context.new_page()
    page.goto(file.as_uri())
    tick = page.locator("input[data-job]").first
    if keys:
        _tab(page, re.compile("Heft and check stores"))
        page.keyboard.press("Space")
    else:
        tick.check()
    expect(tick).to_be_checked()
    text = page.locator("#report").input_value()
    context.close()
    return text


FOCUSED = """() => { const at = document.activeElement;
  const named = at.getAttribute("aria-label") || Array.from(at.labels || []).map((label) => label.textContent).join(" ");
  return named || (at.textContent || "") + (at.title || ""); }"""
MOST_TABS = 160
"""More than any page needs: Chromium may go through the map several times before it begins a page anew."""


def _tab(page: Page, name: str | re.Pattern[str], most: int = MOST_TABS) -> None:
    """Press Tab until what has the focus bears a name."""
    for _ in range(most):
        page.keyboard.press("Tab")
        found = " ".join(str(page.evaluate(FOCUSED)).split())
        if re.search(name, found):
            return
    raise AssertionError(f"no Tab of {most} leads to {name}")


def _press(page: Page, name: str | re.Pattern[str], most: int = MOST_TABS) -> None:
    _tab(page, name, most)
    page.keyboard.press("Enter")


def _follow(page: Page, name: str | re.Pattern[str], most: int = MOST_TABS) -> None:
    """Press what leads to another page, and wait for that."""
    with page.expect_navigation():
        _press(page, name, most)


def _type(page: Page, name: str, text: str) -> None:
    _tab(page, name)
    page.keyboard.type(text)


def _logged(tmp_path: Path) -> None:
    """Assert what the journey leads to: two sites, a base that was moved, and one job in the log."""
    farm = read_farm(tmp_path / "farms" / "old-mill")
    assert [(site.id, site.name, site.hives) for site in farm.sites] == [
        ("oak-field", "Oak field", 8),
        ("ash-bank", "Ash bank", 5),
    ]
    assert [(job.site, job.kind) for job in farm.jobs] == [("oak-field", "heft"), ("ash-bank", "heft")]
    done = Log.record_of(farm.folder).entries
    assert [(entry.kind, entry.date.isoformat()) for entry in done] == [("heft", DAY)]


def test_a_newcomer_comes_from_nothing_to_a_logged_report(new_desk: Served, browser: Browser, tmp_path: Path) -> None:
    with new_desk.opened(browser) as opened:
        page = opened.page("/")
        page.get_by_label("What the farm is called").fill("Old Mill")
        page.get_by_label("The county's road map").select_option(label=MAP)
        page.get_by_label("Where the vehicle is loaded").fill("Mill Drive")
        page.get_by_role("button", name="Make the farm").click()
        page.get_by_role("link", name="To the base and the sites").click()

        base = page.locator("[data-line='base']")
        expect(page.locator("#credit")).to_contain_text("OpenStreetMap", timeout=SOON)
        box = base.bounding_box()
        assert box is not None
        page.mouse.move(box["x"] + 16, box["y"] + 16)
        page.mouse.down()
        page.mouse.move(box["x"] + 60, box["y"] + 40, steps=4)
        page.mouse.up()
        page.get_by_text("The base is moved.").wait_for()

        _copied(opened, SHEET)
        page.locator("#grid td[tabindex='0']").click()
        page.keyboard.press("Control+v")
        expect(page.locator("#grid-state")).to_contain_text("2 rows in sites.csv. All is written.", timeout=SOON)
        expect(page.locator("#messages")).to_contain_text(
            "Left aside, as this table has no such column: “Owner”.", timeout=SOON
        )

        page.get_by_role("link", name="First round").click()
        page.get_by_label("One job at every site").select_option(label="Heft and check stores")
        page.get_by_role("button", name="Write these jobs").click()
        expect(page.locator("#grid-state")).to_contain_text("2 rows in jobs.csv", timeout=SOON)
        page.get_by_role("link", name="First round").click()
        page.get_by_role("link", name="Plan tomorrow's round").click()
        page.get_by_label("Date").fill(DAY)
        page.get_by_role("button", name="Show").click()
        page.get_by_role("button", name="Plan", exact=True).click()
        page.locator("#plan-headline", has_text="Both wants before dark").wait_for(timeout=SOON)
        assert page.locator(".empty").is_hidden()
        page.frame_locator("#map").locator("[title^='Stop 1:']").wait_for()
        page.get_by_role("button", name="Keep this").click()
        page.locator("#answer .headline", has_text="Both wants before dark").wait_for()
        assert page.get_by_role("link", name="First round").count() == 0

        page.get_by_role("link", name="Send it").click()
        with page.expect_download() as kept:
            page.locator(".files li", has_text="A crew's page for the phone").get_by_role("link").click()
        kept.value.save_as(tmp_path / "phone.html")
        _copied(opened, _report(browser, tmp_path / "phone.html", keys=False))

        page.get_by_role("link", name="Record").click()
        page.get_by_label("Paste the report").click()
        page.keyboard.press("Control+v")
        page.get_by_role("button", name="See what it says").click()
        expect(page.locator("#told")).to_contain_text("1 job done, 1 left", timeout=SOON)
        page.get_by_role("button", name="Write this to the log").click()
        expect(page.locator("[aria-labelledby='log-title'] li").first).to_contain_text("ash-bank: heft", timeout=SOON)
    _logged(tmp_path)


def test_the_same_by_keyboard_alone(new_desk: Served, browser: Browser, tmp_path: Path) -> None:
    with new_desk.opened(browser) as opened:
        page = opened.page("/")
        page.bring_to_front()
        _type(page, "What the farm is called", "Old Mill")
        _type(page, "The county's road map", "h")  # one letter: several that come slowly are several choices
        _type(page, "Where the vehicle is loaded", "Mill Drive")
        page.keyboard.press("Enter")
        page.wait_for_url("**/begin")
        _follow(page, "To the base and the sites")

        expect(page.locator("#credit")).to_contain_text("OpenStreetMap", timeout=SOON)
        _press(page, "^The base: ")
        page.keyboard.press("ArrowRight")
        page.keyboard.press("Enter")
        page.get_by_text("The base is moved.").wait_for()
        _copied(opened, SHEET)
        _tab(page, "Keys, copy and paste")
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.getAttribute('role')") == "gridcell"
        page.keyboard.press("Control+v")
        expect(page.locator("#grid-state")).to_contain_text("2 rows in sites.csv. All is written.", timeout=SOON)

        _follow(page, "^First round$")
        _type(page, "One job at every site", "Heft and")
        _follow(page, "Write these jobs")
        expect(page.locator("#grid-state")).to_contain_text("2 rows in jobs.csv", timeout=SOON)
        _follow(page, "^First round$")
        _follow(page, "Plan tomorrow's round")
        _type(page, "^Date", "06062026")
        _follow(page, "^Show$")
        _press(page, "^Plan$")
        page.locator("#plan-headline", has_text="Both wants before dark").wait_for(timeout=SOON)
        _follow(page, "^Keep this$", most=5)  # what may be done with an answer stands right behind it
        page.locator("#answer .headline", has_text="Both wants before dark").wait_for()

        _follow(page, "^Send it$")
        with page.expect_download() as kept:
            _press(page, f"^{DAY}-")
        kept.value.save_as(tmp_path / "phone.html")
        _copied(opened, _report(browser, tmp_path / "phone.html", keys=True))

        _follow(page, "^Record$")
        _tab(page, "Paste the report")
        page.keyboard.press("Control+v")
        _press(page, "See what it says")
        expect(page.locator("#told")).to_contain_text("1 job done, 1 left", timeout=SOON)
        _follow(page, "Write this to the log")
        expect(page.locator("[aria-labelledby='log-title'] li").first).to_contain_text("ash-bank: heft", timeout=SOON)
    _logged(tmp_path)
