"""What of the farm is more than one line: tables of numbers, ticks, sentences and whole new tables, by keyboard alone."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from routing.farm.folder import read_farm
from tests.conftest import HOLLIN_VALE
from tests.desk.served import Served, served
from tests.share.axe import violations_in

WIDTHS = (360, 768, 1280, 1920)
PASTE = """(element, text) => {
  const data = new DataTransfer();
  data.setData('text/plain', text);
  element.dispatchEvent(new ClipboardEvent('paste', { clipboardData: data, bubbles: true, cancelable: true }));
}"""


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Served]:
    folder = shutil.copytree(HOLLIN_VALE, tmp_path / "farm", ignore=shutil.ignore_patterns("rounds"))
    with served(folder, tmp_path) as one:
        yield one


def opened(page: Page, name: str) -> None:
    """Unfold what the button of a value stands in, and press it by the keyboard."""
    button = page.locator(f'button[aria-label^="Change {name}"]')
    unfold = "button => { for (let box = button.closest('details'); box; box = box.parentElement.closest('details')) box.open = true; }"
    button.evaluate(unfold)
    button.press("Enter")


def fits(page: Page) -> None:
    """Hold the dialog against axe, and that nothing of it is cut off at any width."""
    assert violations_in(page, "#set") == {}
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        assert page.locator("#set").evaluate("box => box.scrollWidth - box.clientWidth") == 0, width
    page.set_viewport_size({"width": WIDTHS[0], "height": 900})


def told(page: Page, words: str) -> None:
    page.get_by_text(f"Written to farm.toml: {words}").wait_for()


def focused(page: Page) -> str:
    found: str = page.evaluate("document.activeElement.getAttribute('aria-label') || document.activeElement.id")
    return found


def test_drive_bands_are_changed_by_keyboard_alone(desk: Served, browser: Browser) -> None:
    with desk.opened(browser, WIDTHS[0]) as one:
        page = one.page("/farm")
        opened(page, "drives by the straight line of Rules")
        assert focused(page) == "Row 1, straight line, km"
        page.get_by_label("Row 3, speed, km/h").fill("fast")
        page.keyboard.press("Enter")
        page.locator("#set-faults li").wait_for()
        assert '[rules.drive_bands 3] speed_kmh "fast" is not a number' in page.locator("#set-faults").inner_text()
        assert focused(page) == "Row 3, speed, km/h"
        wrong = page.locator('#set-table [aria-invalid="true"]')
        assert [field.get_attribute("aria-label") for field in wrong.all()] == ["Row 3, speed, km/h"]
        fits(page)
        page.get_by_label("Row 3, speed, km/h").fill("37,5")
        page.get_by_role("button", name="Leave out row 7").press("Enter")
        assert focused(page) == "Row 6, straight line, km"
        page.get_by_role("button", name="One row more").press("Enter")
        assert focused(page) == "Row 7, straight line, km"
        page.evaluate(f"({PASTE})(document.activeElement, '90\\t1.29\\t62\\n120\\t1.28\\t65\\n')")
        page.get_by_label("Where it is from").fill("the van's log")
        page.keyboard.press("Enter")
        told(page, "Rules: drives by the straight line.")
        assert focused(page).startswith(
            "Change drives by the straight line of Rules, now 0 km: detour 1.6, 25 km/h; 2 km"
        )
    rules = read_farm(desk.desk.folder).rules
    assert [band.straight_km for band in rules.drive_bands] == [0, 2, 5, 10, 20, 40, 90, 120]
    assert (rules.drive_bands[2].speed_kmh, rules.drive_bands_source) == (37.5, "the van's log")


def test_months_ticks_sentences_and_dates_are_changed_by_keyboard_alone(desk: Served, browser: Browser) -> None:
    before = (desk.desk.folder / "farm.toml").read_bytes()
    with desk.opened(browser, WIDTHS[0]) as one:
        page = one.page("/farm")
        opened(page, "mean temperature, °C of Stores and feed")
        assert focused(page) == "January, mean temperature, °C"
        page.evaluate(f"({PASTE})(document.activeElement, '3\\t4\\t5\\t6\\t7\\t8\\t9\\t8\\t7\\t6\\t5\\t-4.5')")
        fits(page)
        page.get_by_label("December, mean temperature, °C").press("Enter")
        told(page, "Stores and feed: mean temperature, °C.")
        opened(page, "not at one site with of Feed fondant")
        page.get_by_label("syrup", exact=True).press("Space")
        fits(page)
        page.get_by_role("button", name="Write it").press("Enter")
        told(page, "Feed fondant: not at one site with.")
        opened(page, "cautions of Feed fondant")
        page.locator("#set-lines").press("ControlOrMeta+End")
        page.keyboard.type("\nWet grass: boots.")
        fits(page)
        page.get_by_role("button", name="Write it").press("Enter")
        told(page, "Feed fondant: cautions.")
        opened(page, "by, month-day of Fit mouse guards, must")
        page.locator("#set-text").fill("31 Oct")
        page.keyboard.press("Enter")
        page.get_by_text("is not a day of the year").wait_for()
        assert focused(page) == "set-text"
        page.locator("#set-text").fill("10-20")
        page.keyboard.press("Enter")
        told(page, "Fit mouse guards, must: 09-25 to 02-28, by 10-31: by, month-day.")
    farm = read_farm(desk.desk.folder)
    assert farm.season is not None
    assert farm.season.feed.mean_c == (3, 4, 5, 6, 7, 8, 9, 8, 7, 6, 5, -4.5)
    assert farm.season.due["mouse-guards"].by == "10-20"
    assert (farm.job_kinds["fondant"].not_with, farm.job_kinds["fondant"].cautions[-1]) == (
        ("syrup",),
        "Wet grass: boots.",
    )
    while desk.desk.edits.can[0]:
        assert desk.post("/undo", {"mark": desk.desk.edits.mark}).status == 200
    assert (desk.desk.folder / "farm.toml").read_bytes() == before


def test_a_table_that_changed_on_disk_meanwhile_is_shown_beside(desk: Served, browser: Browser) -> None:
    file = desk.desk.folder / "farm.toml"
    with desk.opened(browser) as one:
        page = one.page("/farm")
        elsewhere = file.read_text(encoding="utf-8").replace(
            "[rules]\n", "[feed]\nmean_c = [1,2,3,4,5,6,7,8,9,10,11,12]\n\n[rules]\n"
        )
        file.write_text(elsewhere, encoding="utf-8")
        opened(page, "mean temperature, °C of Stores and feed")
        page.get_by_label("March, mean temperature, °C").fill("6")
        page.keyboard.press("Enter")
        page.locator("#set-both").wait_for()
        told_both = page.locator("#set-both").inner_text()
        assert "It was Jan 4.2, Feb 4.5, Mar 6.5," in told_both
        assert "in the file now: Jan 1, Feb 2, Mar 3," in told_both
        assert "here: Jan 4.2, Feb 4.5, Mar 6," in told_both
        assert violations_in(page, "#set") == {}
        assert file.read_text(encoding="utf-8") == elsewhere


def test_a_material_and_a_rule_of_the_year_are_added_by_keyboard_alone(desk: Served, browser: Browser) -> None:
    with desk.opened(browser, WIDTHS[0]) as one:
        page = one.page("/farm")
        page.get_by_text("Add a material", exact=True).press("Enter")
        form = page.locator("form[data-what=material]")
        texts = {"Short name": "candy", "Kg each": "2", "Litres of space each": "0.8", "Stock at base": "40"}
        for label, text in texts.items():
            form.get_by_label(label).fill(text)
        form.get_by_label("Counted in", exact=True).select_option("kg")
        assert violations_in(page, "form[data-what=material]") == {}
        form.get_by_role("button", name="Write this material").press("Enter")
        page.get_by_text("kg_each must be 1 where the unit is kg").wait_for()
        form.get_by_label("Kg each").fill("1")
        form.get_by_role("button", name="Write this material").press("Enter")
        told(page, "A material more: candy.")
        for words in ("Add a rule of the year", "Add a material to a job kind", "Add a feed to", "Add a service that"):
            page.get_by_text(words).press("Enter")
        form = page.locator("form[data-what=due]")
        form.get_by_label("Short name").fill("scrub")
        form.get_by_label("Job kind").select_option("water")
        form.get_by_label("Every so many days").fill("20")
        assert violations_in(page, "main") == {}
        form.get_by_role("button", name="Write this rule of the year").press("Enter")
        told(page, "A rule of the year more: scrub.")
        assert page.evaluate("document.documentElement.scrollWidth") <= WIDTHS[0]
        farm = read_farm(desk.desk.folder)
        assert farm.stock["candy"] == 40
        assert farm.season is not None
        assert farm.season.due["scrub"].every_days is not None
        page.get_by_text("candy", exact=False).first.wait_for()
        page.locator("button.drop-table[data-name=candy]").evaluate(
            "button => { button.closest('details').open = true; }"
        )
        page.locator("button.drop-table[data-name=candy]").press("Enter")
        told(page, "Material taken out: candy, and its stock of 40.")
