"""The pictures that README and docs name: they are there, small, and what the first one says is what the desk says."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser

from tests.desk.served import Served

ROOT = Path(__file__).parents[2]
PAGES = (ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md")))
NAMED = sorted(
    {
        (page.parent / name).resolve()
        for page in PAGES
        for name in re.findall(r"!\[[^\]]+\]\(([^)]+\.png)\)", page.read_text(encoding="utf-8"))
    }
)
MOST_BYTES = 150_000


def test_every_picture_that_is_named_is_there_and_small_and_none_stands_there_unused() -> None:
    assert set(NAMED) == {path.resolve() for path in (ROOT / "docs" / "pictures").glob("*.png")}
    assert {path.name: path.stat().st_size for path in NAMED if path.stat().st_size > MOST_BYTES} == {}


def test_the_first_picture_of_the_readme_is_the_desk_as_it_is_now(example_desk: Served, browser: Browser) -> None:
    """Its description is the answer that the script read off the desk when it took the picture."""
    first = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", (ROOT / "README.md").read_text(encoding="utf-8"))[0]
    assert first == "docs/pictures/desk.png"
    with Image.open(ROOT / first) as picture:
        says = picture.info["Description"]
    with example_desk.opened(browser) as opened:
        assert opened.page("/tomorrow?on=2026-12-10").locator("#answer").inner_text() == says


@pytest.mark.deep
def test_the_script_makes_each_picture_anew_as_large_as_it_stands_there(tmp_path: Path) -> None:
    if shutil.which("chromium") is None or shutil.which("pdftoppm") is None:
        pytest.skip("no chromium or no pdftoppm on this computer")
    script = ROOT / "docs" / "pictures" / "make_pictures.py"
    subprocess.run([sys.executable, str(script), str(tmp_path)], check=True, cwd=ROOT)
    for path in NAMED:
        with Image.open(path) as stands, Image.open(tmp_path / path.name) as made:
            assert (stands.size, stands.info.get("Description")) == (made.size, made.info.get("Description"))
