"""What is written in a table is never lost: changed elsewhere, in two tabs, on a full disk, killed while it is written."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from functools import partial
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from routing.errors import FarmError
from routing.farm.folder import read_farm
from tests.desk.grid_bench import Bench, cell, new_farm, until, written
from tests.desk.served import Served
from tests.share.axe import violations


def test_the_same_cell_changed_elsewhere_shows_both(bench: Bench) -> None:
    page = bench.page("/sites")
    theirs = bench.file().replace(b",12,2,", b",20,2,")
    (bench.farm / "sites.csv").write_bytes(theirs)
    cell(page, 1, "hives").click()
    page.keyboard.type("11")
    page.keyboard.press("Enter")
    dialog = page.locator("#grid-conflict")
    expect(dialog).to_be_visible()
    assert dialog.locator("tbody td").all_inner_texts() == ["hives of orchard", "12", "11", "20"]
    assert bench.file() == theirs
    assert violations(page) == {}
    dialog.get_by_role("button", name="Leave what is in the file").click()
    expect(cell(page, 1, "hives").locator(".value")).to_have_text("20")
    cell(page, 1, "hives").click()
    (bench.farm / "sites.csv").write_bytes(theirs.replace(b",20,2,", b",21,2,"))
    page.keyboard.type("10")
    page.keyboard.press("Enter")
    dialog.get_by_role("button", name="Write what is here").click()
    until(page, lambda: bench.file() == theirs.replace(b",20,2,", b",10,2,"))


def test_two_tabs_lose_nothing(bench: Bench) -> None:
    one, other = bench.page("/sites"), bench.page("/sites")
    for page, row, text in ((one, 1, "13"), (other, 2, "14"), (one, 3, "15")):
        page.bring_to_front()
        cell(page, row, "hives").click()
        page.keyboard.type(text)
        page.keyboard.press("Enter")
        written(page)
        until(page, partial(_holds, bench, f",{text},"))
    assert [site.hives for site in read_farm(bench.farm).sites][:3] == [13, 14, 15]


def _holds(bench: Bench, text: str) -> bool:
    return text.encode() in bench.file()


def test_a_full_disk_is_told_in_one_line_and_the_cell_stays_a_draft(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    before, page = bench.file(), bench.page("/sites")

    def full(*_args: object, **_named: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr("routing.desk.files.saving.write_new", full)
        cell(page, 1, "hives").click()
        page.keyboard.type("11")
        page.keyboard.press("Enter")
        expect(page.locator("#messages p")).to_have_count(1)
        expect(page.locator("#messages")).to_contain_text(
            "No space left on device; what stood there before still stands"
        )
    assert bench.file() == before
    expect(page.locator("#grid-state")).to_contain_text("1 row is not written yet")
    bench.browser.troubles.clear()  # the browser's console tells of every answer that is no 200
    page.locator("#grid-add").focus()
    cell(page, 2, "hives").click()
    page.keyboard.type("7")
    page.keyboard.press("Enter")
    until(page, lambda: bench.file() == before.replace(b",12,2,", b",11,2,").replace(b",8,0,", b",7,0,"))


def test_many_rows_come_quickly_and_fit_narrow_screens(empty_desk: Served, browser: Browser, tmp_path: Path) -> None:
    farm = new_farm(tmp_path / "farm")
    for name in ("jobs.csv", "drives.csv"):
        (farm / name).unlink()
    rows = [f"s{n},Site {n},{52 + n / 1000:.3f} -2.7,{n % 40}" for n in range(500)]
    (farm / "sites.csv").write_text("id,name,place,hives\n" + "\n".join(rows) + "\n")
    empty_desk.desk.open(farm)
    with empty_desk.opened(browser, 360) as opened:
        page = opened.page("/sites")
        expect(page.locator("#grid tbody tr")).to_have_count(500)
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


KILLED = """
import sys
from pathlib import Path
from routing.desk.edits import Edits
from routing.desk.files.changes import Change
edits, number = Edits(Path(sys.argv[1])), 0
print("begun", flush=True)
while True:
    number += 1
    edits.change("sites", edits.table("sites").digest, Change({2: {"notes": "x" * (number % 1500)}}))
"""


def test_a_kill_while_writing_leaves_old_or_new(tmp_path: Path) -> None:
    farm = new_farm(tmp_path / "farm")
    for number in range(6):
        writer = subprocess.Popen([sys.executable, "-c", KILLED, str(farm)], stdout=subprocess.PIPE, text=True)
        assert writer.stdout is not None
        assert writer.stdout.readline() == "begun\n"
        time.sleep(0.15 + number * 0.043)
        os.kill(writer.pid, signal.SIGKILL)
        writer.wait(10)
        writer.stdout.close()
        try:
            found = read_farm(farm)
        except FarmError as error:  # pragma: no cover - what must not be
            pytest.fail(str(error))
        assert len(found.sites) == 5
        assert set(found.sites[0].notes) <= set("x") or found.sites[0].notes == "Park by the barn"
