"""A new starter farm at the desk, its tables worked in as a person does: cells found, blocks pasted, writing waited for."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Locator, Page, expect

from routing.desk.edits import Edits
from routing.desk.files.changes import Change
from routing.farm.starter import STARTER, write_new_farm
from tests.desk.served import Opened, Served


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


def new_farm(folder: Path) -> Path:
    """Return a starter farm in a new folder."""
    write_new_farm(folder, {name: text.encode() for name, text in STARTER.items()})
    return folder


def write_cell(edits: Edits, table: str, line: int, column: str, text: str) -> bool:
    """Change one cell of a table's file as the desk does, and return whether it was kept."""
    return edits.change(table, edits.table(table).digest, Change({line: {column: text}})).kept


def cell(page: Page, row: int, column: str) -> Locator:
    names = page.locator("#grid thead th").all_inner_texts()
    return page.locator(f"#grid tbody tr:nth-child({row}) td:nth-child({names.index(column) + 1})")


def written(page: Page) -> None:
    expect(page.locator("#grid-state")).to_contain_text("All is written")
    expect(page.locator("#grid[aria-busy]")).to_have_count(0)


def until(page: Page, holds: Callable[[], bool]) -> None:
    """Wait, with the browser's requests let through meanwhile."""
    until = time.monotonic() + 10
    while not holds():
        assert time.monotonic() < until
        page.wait_for_timeout(50)


def paste(page: Page, block: str) -> None:
    page.evaluate(
        """block => { const data = new DataTransfer(); data.setData("text/plain", block);
        document.activeElement.dispatchEvent(new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true })); }""",
        block,
    )
