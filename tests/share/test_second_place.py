"""Ticks outlive a browser that finds its localStorage empty, and loses what is written there: a second place has them."""

from pathlib import Path

import pytest
from playwright.sync_api import Page

from routing.share.pages.helper_page import helper_page
from tests.share.browser import CHROMIUM, LOOKED, Opener
from tests.share.sample import numbered, sample_round

pytestmark = pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer")

ROUND = numbered(sample_round())

EMPTY = """if (window.name.includes("empty")) {
  const lost = new Map();
  const value = { getItem: (name) => lost.get(name) ?? null, setItem: (name, text) => lost.set(name, text) };
  Object.defineProperty(window, "localStorage", { value });
}"""
"""As of 480 loads of a busy Chromium 6 were; sessionStorage too, so the window's name tells of it here."""

LATE = """if (window.name.includes("late")) {
  const real = indexedDB;
  const open = (...asked) => {
    const told = {};
    const go = () => {
      const request = real.open(...asked);
      request.onsuccess = () => { told.result = request.result; told.onsuccess(); };
    };
    if (window.answers) go();
    else addEventListener("answer", go);
    return told;
  };
  Object.defineProperty(window, "indexedDB", { value: { open } });
}"""
"""It answers once `answers` is set and told of."""
DUMB = "Object.defineProperty(window, 'indexedDB', { value: { open: () => ({}) } })"
BROKEN = """if (window.name.includes("broken")) {
  IDBObjectStore.prototype.get = () => { throw new DOMException("no", "UnknownError"); };
}"""
DENIED = "Object.defineProperty(window, 'localStorage', {get() { throw new DOMException('no', 'SecurityError'); }})"
FULL = "Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); }"
NONE = "Object.defineProperty(window, 'indexedDB', { value: undefined })"


@pytest.fixture(scope="module")
def html() -> str:
    return helper_page(ROUND, 0)


def written(page: Page) -> None:
    """Wait until the second place has what the first has."""
    page.wait_for_function(
        "secondStore().read(`round ${helper.given.round}`)"
        ".then((text) => text === localStorage.getItem(`round ${helper.given.round}`))"
    )


def tick(page: Page, stop: str, *, done: bool = True) -> None:
    """Tick the first job of a stop, and wait until both places have it."""
    page.locator(f"#stop-{stop} [data-job]").first.set_checked(done)
    written(page)


def emptied(page: Page, *, yes: bool = True) -> None:
    page.evaluate("name => { window.name = name; }", "empty" if yes else "")
    page.reload()


def count(page: Page) -> str:
    return page.locator("#count").inner_text()


def test_ticks_are_there_and_those_made_meanwhile_stay(opened: Opener, html: str) -> None:
    page = opened(html, before=EMPTY)
    tick(page, "A1")
    emptied(page)
    assert page.evaluate("localStorage instanceof Storage") is False
    assert count(page) == "1 of 5 jobs done"
    tick(page, "A2")
    emptied(page, yes=False)
    assert count(page) == "2 of 5 jobs done"
    tick(page, "A1", done=False)
    emptied(page)
    assert count(page) == "1 of 5 jobs done"
    assert not page.locator("#stop-A1 [data-job]").first.is_checked()
    tick(page, "A2", done=False)
    emptied(page, yes=False)
    assert count(page) == "0 of 5 jobs done"
    assert page.locator("#not-kept").is_hidden()


@pytest.mark.parametrize("empty", [True, False])
def test_what_is_changed_before_the_second_place_answers_is_put_to_the_others(
    opened: Opener, html: str, *, empty: bool
) -> None:
    """The first place is empty, or behind: it has A1 ticked and not A3."""
    page = opened(html, before=EMPTY + LATE)
    tick(page, "A1")
    emptied(page)
    tick(page, "A3")
    tick(page, "A1", done=False)
    page.evaluate("name => { window.name = name; }", "empty, late" if empty else "late")
    Page.reload(page)
    page.locator("#stop-A2 [data-job]").first.check()
    assert count(page) == f"{1 if empty else 2} of 5 jobs done"
    page.evaluate("window.answers = true; dispatchEvent(new Event('answer'))")
    page.evaluate(LOOKED)
    assert count(page) == "2 of 5 jobs done"
    assert not page.locator("#stop-A1 [data-job]").first.is_checked()
    written(page)
    emptied(page, yes=False)
    assert count(page) == "2 of 5 jobs done"


def test_what_is_unticked_before_it_answers_stays_so(opened: Opener, html: str) -> None:
    page = opened(html, before=EMPTY + LATE)
    tick(page, "A1")
    emptied(page)
    tick(page, "A2")
    page.evaluate("window.name = 'late'")
    Page.reload(page)
    page.locator("#stop-A1 [data-job]").first.uncheck()
    page.evaluate("window.answers = true; dispatchEvent(new Event('answer'))")
    page.evaluate(LOOKED)
    assert count(page) == "1 of 5 jobs done"
    assert page.locator("#stop-A2 [data-job]").first.is_checked()


def test_what_is_forgotten_does_not_come_back_from_there(opened: Opener, html: str) -> None:
    page = opened(html, before=EMPTY)
    tick(page, "A1")
    for _ in range(2):
        page.locator("#forget").click()
    written(page)
    emptied(page)
    assert count(page) == "0 of 5 jobs done"


def test_what_cannot_be_read_there_is_not_written_over(opened: Opener, html: str) -> None:
    page = opened(html, before=EMPTY + BROKEN)
    tick(page, "A1")
    emptied(page)
    tick(page, "A2")
    page.evaluate("window.name = 'broken'")
    page.reload()
    assert count(page) == "1 of 5 jobs done"
    page.locator("#stop-A1 [data-job]").first.uncheck()
    page.locator("#stop-A1 [data-job]").first.check()
    emptied(page)
    assert count(page) == "2 of 5 jobs done"


@pytest.mark.parametrize("place", [NONE, DUMB])
def test_without_a_second_place_all_is_as_it_was(opened: Opener, html: str, place: str) -> None:
    page = opened(html, before=place)
    page.locator("#stop-A1 [data-job]").first.check()
    Page.reload(page)  # it would be waited for without end
    assert count(page) == "1 of 5 jobs done"
    assert page.locator("#not-kept").is_hidden()


@pytest.mark.parametrize("refused", [DENIED, FULL])
def test_what_the_second_place_alone_keeps_is_there_again_and_no_notice_denies_it(
    opened: Opener, html: str, refused: str
) -> None:
    page = opened(html, before=refused)
    page.evaluate(LOOKED)
    assert page.locator("#not-kept").is_hidden()
    page.locator("#stop-A1 [data-job]").first.check()
    page.wait_for_function("secondStore().read(`round ${helper.given.round}`).then((text) => text.includes('T'))")
    page.evaluate("dispatchEvent(new Event('storage'))")  # of another page, which found room
    assert count(page) == "1 of 5 jobs done"
    page.reload()
    assert count(page) == "1 of 5 jobs done"
    assert page.locator("#not-kept").is_hidden()
