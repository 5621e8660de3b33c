"""What a locked page keeps on the phone: there again after unlocking, and to nobody else readable or telling."""

from __future__ import annotations

import base64
import json
import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from routing.share.pages.helper_page import helper_page
from routing.share.pages.locked import lock_page
from routing.share.report.done import read_done
from routing.share.safety.plan_key import round_key
from tests.share.browser import CHROMIUM, UNFOLD, Opener
from tests.share.sample import numbered, sample_round
from tests.share.test_second_place import DENIED, DUMB, EMPTY, FULL, NONE, emptied

pytestmark = [
    pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer"),
    pytest.mark.usefixtures("few_key_rounds"),
]

PASSPHRASE = "heather lorry ninety spoon"  # noqa: S105 -- opens test pages only
ROUND = numbered(sample_round())
NOTE = "The gate was locked, rang Emrys"
EVERYTHING = "() => Object.fromEntries(Object.entries(localStorage))"
NO_ROOM = f"{FULL}; {NONE}"
ELSEWHERE = """new Promise((told) => {
  const asked = indexedDB.open("kept", 1);
  asked.onsuccess = () => {
    const all = asked.result.transaction("kept").objectStore("kept").getAll();
    all.onsuccess = () => { asked.result.close(); told(JSON.stringify(all.result)); };
  };
})"""
"""All that stands in the second place."""


@pytest.fixture
def locked(few_key_rounds: None) -> str:  # noqa: ARG001 - locked under it
    return lock_page(helper_page(ROUND, 0), PASSPHRASE)


def unlock(page: Page, passphrase: str = PASSPHRASE) -> None:
    page.get_by_label("Passphrase").fill(passphrase)
    page.get_by_role("button", name="Unlock").click()


def unlocked(opened: Opener, html: str) -> Page:
    page = opened(html, 360)
    unlock(page)
    page.locator("#stop-A1").wait_for()
    return page


def kept(page: Page) -> dict[str, str]:
    found: dict[str, str] = page.evaluate(EVERYTHING)
    return found


def tick_and_note(page: Page) -> dict[str, str]:
    """Tick a job and write a note; return the storage when both are in it."""
    before = kept(page)
    page.locator("#stop-A1 [data-job]").check()
    page.wait_for_function(
        "before => JSON.stringify({...localStorage}) !== before", arg=json.dumps(before, separators=(",", ":"))
    )
    ticked = kept(page)
    page.locator("#stop-A1 textarea").fill(NOTE)
    page.wait_for_function(
        "before => JSON.stringify({...localStorage}) !== before", arg=json.dumps(ticked, separators=(",", ":"))
    )
    return kept(page)


def test_ticks_and_notes_are_back_after_unlocking_again_and_in_the_page_sent_anew(opened: Opener, locked: str) -> None:
    page = unlocked(opened, locked)
    tick_and_note(page)
    for html in (locked, lock_page(helper_page(ROUND, 0), PASSPHRASE)):
        opened.file.write_text(html, encoding="utf-8")
        page.reload()
        assert page.title() == "Locked page"
        unlock(page)
        expect(page.locator("#stop-A1 [data-job]")).to_be_checked()
        assert page.locator("#stop-A1 textarea").input_value() == NOTE
        report = read_done(page.locator("#report").input_value())
        assert [job.id for _, job in report.done] == ["jobs.csv:2"]
        assert page.locator("#not-kept").is_hidden()


def test_another_page_from_disk_reads_nothing_of_it(opened: Opener, locked: str) -> None:
    """Neither as text, nor in base64, nor by the names of the items: those are hexadecimal and tell no round."""
    tick_and_note(unlocked(opened, locked))
    (context,) = opened._contexts
    other = context.new_page()
    (opened.file.parent / "other.html").write_text("<!DOCTYPE html><title>Other</title>", encoding="utf-8")
    other.goto((opened.file.parent / "other.html").as_uri())
    held = kept(other)
    assert len(held) == 1  # they do share one storage
    ((name, value),) = held.items()
    assert re.fullmatch(r"[0-9a-f]{32}", name)
    raw = base64.b64decode(value)
    assert len(raw) == 12 + 4096 + 16  # nonce, size class, mark of AES-GCM
    words = [NOTE, "Emrys", "notes", "loaded", "Mill Bank", round_key(ROUND.itineraries[0]), "round"]
    for word in words:
        assert word not in json.dumps(held)
        assert word.encode() not in raw
    assert round_key(ROUND.itineraries[0])[:8] not in name


def test_every_write_has_a_nonce_of_its_own_and_one_length(opened: Opener, locked: str) -> None:
    page = unlocked(opened, locked)
    values = [*kept(page).values()]
    for text in ("a", "ab", "a", "a long note " * 20):
        page.locator("#stop-A1 textarea").fill(text)
        page.wait_for_function("old => !Object.values(localStorage).includes(old)", arg=values[-1])
        values += kept(page).values()
    assert len({base64.b64decode(value)[:12] for value in values}) == len(values) == 5
    assert len({len(value) for value in values}) == 1


def test_the_wrong_passphrase_brings_nothing_and_harms_nothing(opened: Opener, locked: str) -> None:
    page = unlocked(opened, locked)
    before = tick_and_note(page)
    page.reload()
    unlock(page, "heather lorry ninety fork")
    page.get_by_text("That is not the passphrase of this file").wait_for()
    assert kept(page) == before
    assert page.locator("#report").count() == 0
    assert page.evaluate("typeof window.lockedStore") == "undefined"
    unlock(page)
    expect(page.locator("#stop-A1 [data-job]")).to_be_checked()


def test_under_another_passphrase_it_is_another_record(opened: Opener, locked: str) -> None:
    """Neither page finds what the other kept, nor writes over it."""
    page = unlocked(opened, locked)
    first = tick_and_note(page)
    opened.file.write_text(lock_page(helper_page(ROUND, 0), "copper ladder violin marsh"), encoding="utf-8")
    page.reload()
    unlock(page, "copper ladder violin marsh")
    page.locator("#stop-A1").wait_for()
    assert not page.locator("#stop-A1 [data-job]").is_checked()
    both = kept(page)
    assert len(both) == 2
    assert first.items() <= both.items()


@pytest.mark.parametrize("both", [True, False])
def test_a_record_that_was_damaged_is_started_afresh_unless_the_second_place_has_it(
    opened: Opener, locked: str, *, both: bool
) -> None:
    page = unlocked(opened, locked)
    ((name, value),) = tick_and_note(page).items()
    for damaged in ("", "not base64 !", "AAAA", value[:-8] + "AAAAAAA="):
        page.evaluate("([name, value]) => localStorage.setItem(name, value)", [name, damaged])
        if both:
            page.evaluate("([name, value]) => secondStore().write(name, value)", [name, damaged])
        page.reload()
        unlock(page)
        page.locator("#stop-A1").wait_for()
        assert page.locator("#count").inner_text() == f"{0 if both else 1} of 5 jobs done"


def test_two_windows_of_one_locked_page_follow_each_other(opened: Opener, locked: str) -> None:
    page = unlocked(opened, locked)
    (context,) = opened._contexts
    other = context.new_page()
    other.goto(opened.file.as_uri())
    unlock(other)
    other.locator("#stop-A1").wait_for()
    page.locator("#stop-A1 [data-job]").check()
    expect(other.locator("#stop-A1 [data-job]")).to_be_checked()
    other.locator("#stop-A2 [data-job]").first.check()
    expect(page.locator("#stop-A2 [data-job]").first).to_be_checked()
    assert page.locator("#count").inner_text() == "2 of 5 jobs done"


def test_a_phone_that_keeps_nothing_is_said_in_a_locked_page_too(opened: Opener, locked: str) -> None:
    page = opened(locked, 360, before=NO_ROOM)
    unlock(page)
    page.locator("#not-kept").wait_for(state="visible")
    page.locator("#stop-A1 [data-job]").check()
    assert page.locator("#count").inner_text() == "1 of 5 jobs done"


def test_forgetting_leaves_nothing_that_unlocking_brings_back(opened: Opener, locked: str) -> None:
    page = unlocked(opened, locked)
    before = tick_and_note(page)
    page.evaluate(UNFOLD)
    for _ in range(2):
        page.locator("#forget").click()
    page.wait_for_function("old => !Object.values(localStorage).includes(old)", arg=next(iter(before.values())))
    page.reload()
    unlock(page)
    page.locator("#stop-A1").wait_for()
    assert page.locator("#count").inner_text() == "0 of 5 jobs done"
    assert page.locator("#stop-A1 textarea").input_value() == ""


def test_it_opens_where_the_second_place_never_answers(opened: Opener, locked: str) -> None:
    page = opened(locked, 360, before=DUMB)
    unlock(page)
    page.locator("#stop-A1").wait_for()
    assert page.locator("#not-kept").is_hidden()


def test_where_the_first_place_is_empty_the_second_has_the_ticks_encrypted(opened: Opener, locked: str) -> None:
    page = opened(locked, 360, before=EMPTY)
    unlock(page)
    page.locator("#stop-A1").wait_for()
    ((name, value),) = tick_and_note(page).items()
    page.wait_for_function(
        "([name, value]) => secondStore().read(name).then((text) => text === value)", arg=[name, value]
    )
    assert page.evaluate("indexedDB.databases().then((all) => all.map((each) => each.name))") == ["kept"]
    emptied(page)
    unlock(page)
    expect(page.locator("#stop-A1 [data-job]").first).to_be_checked()
    assert page.evaluate("localStorage instanceof Storage") is False


@pytest.mark.parametrize("refused", [FULL, DENIED])
def test_what_the_second_place_alone_keeps_is_there_again_and_no_notice_denies_it(
    opened: Opener, locked: str, refused: str
) -> None:
    page = opened(locked, 360, before=refused)
    unlock(page)
    page.locator("#stop-A1").wait_for()
    before = page.evaluate(ELSEWHERE)
    page.locator("#stop-A1 [data-job]").check()
    page.wait_for_function(f"before => {ELSEWHERE}.then((all) => all !== before)", arg=before)
    page.reload()
    unlock(page)
    expect(page.locator("#stop-A1 [data-job]")).to_be_checked()
    assert page.locator("#not-kept").is_hidden()
