"""Sites and jobs as tables in a real browser: by keyboard alone, by paste, with conflicts, kills and full disks."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from routing.errors import FarmError
from routing.farm.folder import read_farm
from routing.farm.starter import STARTER, write_new_farm
from tests.desk.served import Opened, Served, served
from tests.share.axe import violations

HOSTILE = "<img src=x onerror=alert(1)>{{7*7}}\"'&amp;"


@dataclass(frozen=True)
class Bench:
    """A new starter farm, open at a desk that all tests share."""

    desk: Served
    farm: Path
    browser: Opened

    def page(self, view: str) -> Page:
        page = self.browser.page(view)
        expect(page.locator("#grid td").first).to_be_visible()
        return page

    def file(self, name: str = "sites.csv") -> bytes:
        return (self.farm / name).read_bytes()


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with served(None, tmp_path_factory.mktemp("desk")) as found:
        yield found


@pytest.fixture
def bench(desk: Served, browser: Browser, tmp_path: Path) -> Iterator[Bench]:
    farm = tmp_path / "farm"
    write_new_farm(farm, {name: text.encode() for name, text in STARTER.items()})
    desk.desk.open(farm)
    with desk.opened(browser) as opened:
        yield Bench(desk, farm, opened)


def _cell(page: Page, row: int, column: str) -> Locator:
    names = page.locator("#grid thead th").all_inner_texts()
    return page.locator(f"#grid tbody tr:nth-child({row}) td:nth-child({names.index(column) + 1})")


def _written(page: Page) -> None:
    expect(page.locator("#grid-state")).to_contain_text("All is written")
    expect(page.locator("#grid[aria-busy]")).to_have_count(0)


def _until(page: Page, holds: Callable[[], bool]) -> None:
    """Wait, with the browser's requests let through meanwhile."""
    until = time.monotonic() + 10
    while not holds():
        assert time.monotonic() < until
        page.wait_for_timeout(50)


def _paste(page: Page, block: str) -> None:
    page.evaluate(
        """block => { const data = new DataTransfer(); data.setData("text/plain", block);
        document.activeElement.dispatchEvent(new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true })); }""",
        block,
    )


def test_a_cell_is_written_and_undone_by_keyboard_alone(bench: Bench) -> None:
    before, page = bench.file(), bench.page("/sites")
    page.locator("#grid td").first.focus()
    for key in ("ArrowDown", "ArrowRight", "F2", "End"):
        page.keyboard.press(key)
    page.keyboard.type(" Farm")
    page.keyboard.press("Tab")
    for _ in range(2):
        page.keyboard.press("ArrowRight")
    page.keyboard.type("9")
    page.keyboard.press("Enter")
    _until(page, lambda: b"Quarry edge Farm" in bench.file() and b",9,0," not in bench.file())
    _written(page)
    changed = bench.file()
    assert changed == before.replace(b"Quarry edge", b"Quarry edge Farm").replace(b"387,8,0,", b"387,8,9,")
    page.keyboard.press("F2")
    page.keyboard.type("zzz")
    page.keyboard.press("Escape")
    assert page.evaluate("document.activeElement.tagName") == "TD"
    page.keyboard.press("Control+z")
    _until(page, lambda: bench.file() == before.replace(b"Quarry edge", b"Quarry edge Farm"))
    page.keyboard.press("Control+z")
    _until(page, lambda: bench.file() == before)
    page.keyboard.press("Control+y")
    _until(page, lambda: b"Quarry edge Farm" in bench.file())
    expect(page.locator("#messages")).to_contain_text("Made again. Sites: name of quarry")


def test_a_block_is_pasted_and_undone_to_the_byte(bench: Bench) -> None:
    before, page = bench.file("jobs.csv"), bench.page("/jobs")
    page.locator("#grid td").first.focus()
    block = 'Kind\tSite\tdue by\tnote\r\nheft\twood\t24.12.2026\t"two\nlines"\r\nfondant\tmeadow\t2026-12-20\t=1+1\r\n'
    _paste(page, block)
    _until(page, lambda: len(read_farm(bench.farm).jobs) == 11)
    added = read_farm(bench.farm).jobs[-2:]
    assert [(job.site, job.kind, str(job.due_by), job.note) for job in added] == [
        ("wood", "heft", "2026-12-24", "two\nlines"),
        ("meadow", "fondant", "2026-12-20", "'=1+1"),
    ]
    assert bench.file("jobs.csv").startswith(before)
    _written(page)
    page.locator("#grid-undo").click()
    _until(page, lambda: bench.file("jobs.csv") == before)


def test_one_row_with_its_header_goes_below_the_table_too(bench: Bench) -> None:
    before, page = bench.file("jobs.csv"), bench.page("/jobs")
    page.locator("#grid td").first.focus()
    _paste(page, "Kind\tSite\r\nheft\tmeadow\r\n")
    _until(page, lambda: bench.file("jobs.csv") == before + b"meadow,heft,,,,,\n")


def test_a_sheet_with_names_of_its_own_is_taken_where_no_cell_is_chosen(bench: Bench) -> None:
    """Latitude and longitude become the one cell of the place, ids are made of names, and what has no column is told."""
    before, page = bench.file(), bench.page("/sites")
    _written(page)
    page.locator("h1").click()
    block = "Apiary\tLat\tLong\tColonies\tLandowner\nLow field\t52.1\t-2.9\t4\tA. Dunn\nLow Field\t52.2\t-2.8\t2\t\n"
    _paste(page, block)
    _until(page, lambda: bench.file() != before)
    _written(page)
    added = bench.file().removeprefix(before).decode().splitlines()
    assert [line.split(",")[:2] for line in added] == [["low-field", "Low field"], ["low-field-2", "Low Field"]]
    assert [line.split('"')[1] for line in added] == ["52.1, -2.9", "52.2, -2.8"]
    expect(page.locator("#messages")).to_have_text("Left aside, as this table has no such column: “Landowner”.")


def test_a_copied_block_is_what_a_spreadsheet_takes(bench: Bench) -> None:
    page = bench.page("/sites")
    page.locator("#grid td").first.focus()
    page.keyboard.press("Shift+ArrowDown")
    page.keyboard.press("Shift+ArrowRight")
    copied = page.evaluate(
        """() => { const data = new DataTransfer();
        document.activeElement.dispatchEvent(new ClipboardEvent("copy", { clipboardData: data, bubbles: true, cancelable: true }));
        return data.getData("text/plain"); }"""
    )
    assert copied == "orchard\tOld orchard\nquarry\tQuarry edge"
    assert page.locator("#grid td[aria-selected=true]").count() == 4


def test_a_fault_stands_at_its_cell_and_nothing_is_written(bench: Bench) -> None:
    before, page = bench.file(), bench.page("/sites")
    cell = _cell(page, 1, "hives")
    cell.click()
    page.keyboard.type("12x")
    page.keyboard.press("Enter")
    expect(cell).to_have_attribute("aria-invalid", "true")
    told = page.locator("#" + (cell.get_attribute("aria-describedby") or ""))
    expect(told).to_have_text('Not written yet: hives "12x" is not a whole number')
    assert bench.file() == before
    cell.click()
    page.keyboard.press("F2")
    assert page.evaluate("document.activeElement.getAttribute('aria-describedby')") == cell.get_attribute(
        "aria-describedby"
    )
    assert violations(page) == {}
    page.keyboard.press("Control+a")
    page.keyboard.type("11")
    page.keyboard.press("Enter")
    _until(page, lambda: bench.file() == before.replace(b",12,2,", b",11,2,"))


def test_a_row_grows_until_it_is_whole_and_is_taken_out_again(bench: Bench) -> None:
    before, page = bench.file(), bench.page("/sites")
    page.locator("#grid-add").click()
    page.keyboard.type("Low field")  # an id is made of the name
    page.keyboard.press("Tab")
    page.keyboard.type("SO 470 300")
    page.keyboard.press("Tab")
    expect(page.locator("#grid-state")).to_contain_text("1 row is not written yet")
    assert bench.file() == before
    page.keyboard.type("4")
    page.keyboard.press("Tab")
    _until(page, lambda: bench.file() != before)
    _written(page)
    line = b"low-field,Low field,SO 470 300,4,,,,,,,,,,\n"
    assert bench.file() == before.replace(b"quarry,", line + b"quarry,")
    page.locator("#grid-drop").click()
    _until(page, lambda: bench.file() == before)


def test_drop_downs_offer_kinds_sites_and_ranks(bench: Bench) -> None:
    page = bench.page("/jobs")
    _cell(page, 1, "kind").click()
    page.keyboard.press("Enter")
    options = page.locator("#grid select option").all_inner_texts()
    assert "Mend the stock fence (fence-repair)" in options
    assert violations(page) == {}
    page.keyboard.press("Escape")
    _cell(page, 2, "rank").click()
    page.keyboard.type("p")
    page.keyboard.press("Enter")
    _until(page, lambda: read_farm(bench.farm).jobs[1].rank == "passing")


def test_what_jobs_need_is_not_taken_out(bench: Bench) -> None:
    before, page = bench.file(), bench.page("/sites")
    _cell(page, 1, "id").click()
    page.locator("#grid-drop").click()
    expect(page.locator("#messages")).to_contain_text("Not written, because then:")
    expect(page.locator("#messages")).to_contain_text('jobs.csv:2: site "orchard" is not in sites.csv')
    assert bench.file() == before
    expect(page.locator("#grid tr.dropped")).to_have_count(0)


def test_the_same_cell_changed_elsewhere_shows_both(bench: Bench) -> None:
    page = bench.page("/sites")
    theirs = bench.file().replace(b",12,2,", b",20,2,")
    (bench.farm / "sites.csv").write_bytes(theirs)
    _cell(page, 1, "hives").click()
    page.keyboard.type("11")
    page.keyboard.press("Enter")
    dialog = page.locator("#grid-conflict")
    expect(dialog).to_be_visible()
    assert dialog.locator("tbody td").all_inner_texts() == ["hives of orchard", "12", "11", "20"]
    assert bench.file() == theirs
    assert violations(page) == {}
    dialog.get_by_role("button", name="Leave what is in the file").click()
    expect(_cell(page, 1, "hives").locator(".value")).to_have_text("20")
    _cell(page, 1, "hives").click()
    (bench.farm / "sites.csv").write_bytes(theirs.replace(b",20,2,", b",21,2,"))
    page.keyboard.type("10")
    page.keyboard.press("Enter")
    dialog.get_by_role("button", name="Write what is here").click()
    _until(page, lambda: bench.file() == theirs.replace(b",20,2,", b",10,2,"))


def test_two_tabs_lose_nothing(bench: Bench) -> None:
    one, other = bench.page("/sites"), bench.page("/sites")
    for page, row, text in ((one, 1, "13"), (other, 2, "14"), (one, 3, "15")):
        page.bring_to_front()
        _cell(page, row, "hives").click()
        page.keyboard.type(text)
        page.keyboard.press("Enter")
        _written(page)
        _until(page, partial(_holds, bench, f",{text},"))
    assert [site.hives for site in read_farm(bench.farm).sites][:3] == [13, 14, 15]


def _holds(bench: Bench, text: str) -> bool:
    return text.encode() in bench.file()


def test_private_cells_are_hidden_until_asked_for(bench: Bench) -> None:
    page = bench.page("/sites")
    code = _cell(page, 2, "gate code")
    expect(code.locator(".value")).to_have_text("hidden")
    assert "0000" not in bench.desk.get("/tables/sites").text
    assert "0000" not in page.content()
    before = bench.file()
    code.click()
    page.keyboard.type("1234")
    expect(page.locator("#messages")).to_contain_text("Show private details")
    assert bench.file() == before
    page.get_by_role("button", name="Show private details").click()
    expect(code.locator(".value")).to_have_text("0000")
    code.click()
    page.keyboard.type("1234")
    page.keyboard.press("Enter")
    _until(page, lambda: read_farm(bench.farm).sites[1].gate_code == "1234")
    expect(page.locator("#grid-undo")).to_have_attribute("title", "Sites: gate code of quarry")


def test_hostile_names_stay_text(bench: Bench) -> None:
    page = bench.page("/sites")
    _cell(page, 1, "name").click()
    page.keyboard.press("F2")
    page.keyboard.press("Control+a")
    page.keyboard.insert_text(HOSTILE)
    page.keyboard.press("Enter")
    _until(page, lambda: read_farm(bench.farm).sites[0].name == HOSTILE)
    page = bench.page("/sites")
    expect(_cell(page, 1, "name").locator(".value")).to_have_text(HOSTILE)
    assert page.locator("#grid img").count() == 0
    jobs = bench.page("/jobs")
    _cell(jobs, 1, "site").click()
    jobs.keyboard.press("F2")
    assert jobs.locator("#grid select img").count() == 0
    assert violations(jobs) == {}


def test_a_full_disk_is_told_in_one_line_and_the_cell_stays_a_draft(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    before, page = bench.file(), bench.page("/sites")

    def full(*_args: object, **_named: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr("routing.desk.files.saving.write_new", full)
        _cell(page, 1, "hives").click()
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
    _cell(page, 2, "hives").click()
    page.keyboard.type("7")
    page.keyboard.press("Enter")
    _until(page, lambda: bench.file() == before.replace(b",12,2,", b",11,2,").replace(b",8,0,", b",7,0,"))


def test_many_rows_come_quickly_and_fit_narrow_screens(desk: Served, browser: Browser, tmp_path: Path) -> None:
    farm = tmp_path / "farm"
    write_new_farm(farm, {name: text.encode() for name, text in STARTER.items()})
    for name in ("jobs.csv", "drives.csv"):
        (farm / name).unlink()
    rows = [f"s{n},Site {n},{52 + n / 1000:.3f} -2.7,{n % 40}" for n in range(500)]
    (farm / "sites.csv").write_text("id,name,place,hives\n" + "\n".join(rows) + "\n")
    desk.desk.open(farm)
    with desk.opened(browser, 360) as opened:
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
    farm = tmp_path / "farm"
    write_new_farm(farm, {name: text.encode() for name, text in STARTER.items()})
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
