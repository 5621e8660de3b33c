"""What could come alive somewhere, in every field of a farm that is text: shown as words in every view, and never run."""

from __future__ import annotations

import csv
import datetime as dt
import json
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from routing import stages
from routing.desk.serving import VIEWS
from tests.conftest import HOLLIN_VALE
from tests.desk.served import served

DAY = dt.date(2026, 6, 10)
MARKUP = "<img src=x onerror=window.hurt=1></script><script>window.hurt=1</script>\"'`${window.hurt=1}{{7*7}}"
WORDS = "<img src=x onerror=window.hurt=1>"


def hostile_farm(folder: Path) -> Path:
    """Return the farm of four sites, with markup in each name and note that its files can hold."""
    shutil.copytree(HOLLIN_VALE.with_name("four-sites"), folder)
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    lines = []
    for line in text.splitlines():
        key = line.partition("=")[0].strip()
        lines.append(f"{key} = {json.dumps(f'{key} {MARKUP}')}" if key in {"name", "source"} else line)
    (folder / "farm.toml").write_text("\n".join(lines) + "\n", encoding="utf-8")
    for name, columns in (("sites.csv", ("name", "notes", "private_notes")), ("jobs.csv", ("note",))):
        with (folder / name).open(encoding="utf-8", newline="") as file:
            rows = [row | dict.fromkeys(columns, MARKUP) for row in csv.DictReader(file)]
        with (folder / name).open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, list(rows[0]))
            writer.writeheader()
            writer.writerows(rows)
    return folder


@pytest.mark.parametrize("width", [360, 1280])
def test_markup_in_every_field_is_words_in_every_view(browser: Browser, tmp_path: Path, width: int) -> None:
    folder = hostile_farm(tmp_path / "farm")
    farm = stages.read.farm_in(folder)
    assert all(WORDS in text for text in (farm.name, farm.base.name, farm.sites[0].name, farm.jobs[0].note))
    stages.write.write_plan(farm, stages.plan.plan(farm, DAY))
    with served(folder, tmp_path) as desk, desk.opened(browser, width) as opened:
        for path, _ in (*VIEWS, ("/begin", ""), ("/start", "")):
            page = opened.page(f"{path}?on={DAY}")
            if path in {"/sites", "/jobs"}:
                page.locator("#grid td").first.wait_for()
            if path == "/tomorrow":
                page.get_by_role("button", name="Change it by hand").click(timeout=30_000)
                page.locator(".plan-days").wait_for()
                page.frame_locator("#map").locator(".leaflet-container").wait_for()
            assert WORDS in page.locator("body").inner_text() or path == "/season", path
            assert all(frame.evaluate("typeof window.hurt") == "undefined" for frame in page.frames), path
            assert all(frame.locator("img[src='x']").count() == 0 for frame in page.frames), path
            assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), path
            page.close()
