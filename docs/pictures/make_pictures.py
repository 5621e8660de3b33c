"""Makes the pictures of README and docs from the example farm: desk, map, a crew's page on a phone and on paper.

Run it from the top folder with the development tools installed, chromium and poppler's pdftoppm at hand:
`make pictures`, or `python docs/pictures/make_pictures.py FOLDER` to write them elsewhere. It needs no network; run
twice on one machine it writes the same bytes. What the picture of the desk says is kept in it as its description,
which a test holds against the desk.
"""

from __future__ import annotations

import datetime as dt
import io
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from PIL import Image, PngImagePlugin
from playwright.sync_api import Browser, Page, sync_playwright

from routing.farm.folder import read_farm
from routing.share.pages.helper_page import helper_page
from routing.stages.plan import plan
from routing.stages.write import background, write_plan

HERE = Path(__file__).parent
EXAMPLE = HERE.parent.parent / "examples" / "hollin-vale"
DATE = dt.date(2026, 12, 10)
MORNING = dt.datetime(2026, 12, 10, 9, 12, tzinfo=dt.UTC)
MOST_BYTES = 150_000
COLOURS = 96
"""A drawing of few colours needs no more, and is a third of the bytes."""
DOTS_AN_INCH = 72
GAP, BACK = 12, (217, 221, 225)
FLAGS = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking")
SETTLED = 1500
"""Milliseconds until a map is drawn."""


def main() -> None:
    """Make all pictures."""
    place = Path(sys.argv[1]) if len(sys.argv) > 1 else HERE
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        farm_folder = Path(folder) / "hollin-vale"
        shutil.copytree(EXAMPLE, farm_folder, ignore=shutil.ignore_patterns("rounds", "sent", ".*"))
        farm = read_farm(farm_folder)
        round_ = plan(farm, DATE)
        write_plan(farm, round_)
        page_file = Path(folder) / "page.html"
        page_file.write_text(helper_page(round_, 0, roads=background(farm, round_)), encoding="utf-8")
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=list(FLAGS))
        with desk_of(farm_folder, Path(folder)) as address:
            screen, says = desk_screen(browser, address)
        write([screen], place / "desk.png", says)
        write([map_screen(browser, farm_folder)], place / "map.png")
        write(phone_screens(browser, page_file), place / "phone.png")
        write(paper_pages(browser, page_file), place / "paper.png")
        browser.close()


@contextmanager
def desk_of(folder: Path, keep: Path) -> Iterator[str]:
    """Give the address of a desk with a farm open, begun as a farmer begins it."""
    command = [sys.executable, "-m", "routing", "open", str(folder), "--no-browser"]
    env = {**os.environ, "XDG_STATE_HOME": str(keep), "PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=env) as desk:  # noqa: S603 -- ourselves
        yield (desk.stdout.readline() if desk.stdout else "").split()[-1]
        desk.send_signal(signal.SIGINT)
        desk.communicate()


def desk_screen(browser: Browser, address: str) -> tuple[bytes, str]:
    """Return Tomorrow as a desk shows it, and its answer in words."""
    context = browser.new_context(viewport={"width": 1240, "height": 930}, device_scale_factor=0.8)
    page = context.new_page()
    page.goto(address)
    page.goto(f"{'/'.join(address.split('/')[:3])}/tomorrow?on={DATE}")
    page.locator("[data-open]").wait_for()
    page.wait_for_timeout(SETTLED)
    return page.screenshot(), page.locator("#answer").inner_text()


def map_screen(browser: Browser, folder: Path) -> bytes:
    """Return the map page as a desk sees it."""
    page = browser.new_context(
        offline=True, viewport={"width": 1100, "height": 720}, device_scale_factor=0.8
    ).new_page()
    page.goto((folder / "rounds" / DATE.isoformat() / "map.html").as_uri())
    page.wait_for_timeout(SETTLED)
    return page.screenshot()


def phone_screens(browser: Browser, file: Path) -> list[bytes]:
    """Return four screens of a phone 360 pixels wide: the first, two stops done, the map, the emergency card."""
    page = browser.new_context(offline=True, viewport={"width": 360, "height": 640}, device_scale_factor=0.7).new_page()
    page.clock.set_fixed_time(MORNING)
    page.goto(file.as_uri())
    screens = [page.screenshot()]
    for stop in (1, 2):
        page.locator(f"#stop-{stop} [data-job]").check()
    page.locator("#help h2 button").click()
    page.locator("#stop-3 summary").click()
    return screens + [screen_at(page, selector) for selector in ("#stop-3", "#map", "#help")]


def screen_at(page: Page, selector: str) -> bytes:
    """Return the screen with the element at its top."""
    page.locator(selector).evaluate("element => element.scrollIntoView()")
    page.wait_for_timeout(SETTLED)
    return page.screenshot()


def paper_pages(browser: Browser, file: Path) -> list[bytes]:
    """Return the front of the sheet, as it is printed."""
    page = browser.new_context(offline=True).new_page()
    page.goto(file.as_uri())
    printed = file.with_suffix(".pdf")
    page.pdf(path=printed, prefer_css_page_size=True)
    options = ["-png", "-r", str(DOTS_AN_INCH), "-l", "1"]
    subprocess.run(["pdftoppm", *options, str(printed), str(file.with_name("paper"))], check=True)  # noqa: S603, S607 -- our own file, a known program
    return [path.read_bytes() for path in sorted(file.parent.glob("paper-*.png"))]


def write(pictures: list[bytes], path: Path, says: str = "") -> None:
    """Write pictures side by side as one PNG. Stops where it is larger than a README should load."""
    parts = [Image.open(io.BytesIO(one)).convert("RGB") for one in pictures]
    gap = GAP if len(parts) > 1 else 0
    wide = sum(part.width + gap for part in parts) + gap
    whole = Image.new("RGB", (wide, max(part.height for part in parts) + 2 * gap), BACK)
    at = gap
    for part in parts:
        whole.paste(part, (at, gap))
        at += part.width + gap
    told = PngImagePlugin.PngInfo()
    if says:
        told.add_itxt("Description", says)
    whole.quantize(COLOURS, dither=Image.Dither.NONE).save(path, optimize=True, pnginfo=told)
    size = path.stat().st_size
    sys.stdout.write(f"{path.name}: {size} bytes\n")
    if size > MOST_BYTES:
        raise SystemExit(f"{path.name} has {size} bytes, more than {MOST_BYTES}")


if __name__ == "__main__":
    main()
