"""Makes the pictures of the README from the demo farm: a crew's page on a phone and on paper.

Run it from the top folder with the development tools installed, chromium and poppler's pdftoppm at hand:
`python docs/pictures/make_pictures.py`. It needs no network and writes phone.png and paper.png beside itself.
"""

from __future__ import annotations

import base64
import datetime as dt
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from routing.farm.folder import read_farm
from routing.share.pages.helper_page import helper_page
from routing.stages.plan import plan
from routing.stages.write import background

HERE = Path(__file__).parent
FARM = HERE.parent.parent / "examples" / "hollin-vale"
DATE = dt.date(2026, 12, 10)
MORNING = dt.datetime(2026, 12, 10, 9, 12, tzinfo=dt.UTC)
MOST_BYTES = 200_000
DOTS_AN_INCH = 72
FRAME = (
    "<style>body{margin:0;padding:12px;display:inline-flex;gap:12px;background:#d9dde1}"
    "img{display:block;background:#fff;border:1px solid #8a929b;border-radius:%s}</style>"
)


def main() -> None:
    """Make both pictures."""
    farm = read_farm(FARM)
    round_ = plan(farm, DATE)
    html = helper_page(round_, 0, roads=background(farm, round_))
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        file = Path(folder) / "page.html"
        file.write_text(html, encoding="utf-8")
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        write_beside(browser, phone_screens(browser, file), "phone.png", "14px")
        write_beside(browser, paper_pages(browser, file), "paper.png", "0")
        browser.close()


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
    page.wait_for_timeout(400)  # the map is painted a moment later
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


def write_beside(browser: Browser, pictures: list[bytes], name: str, radius: str) -> None:
    """Write the pictures side by side as one PNG. Stops where it is larger than a README should load."""
    page = browser.new_page()
    images = "".join(f'<img src="data:image/png;base64,{base64.b64encode(one).decode()}">' for one in pictures)
    page.set_content(FRAME % radius + f"<body>{images}")
    page.locator("body").screenshot(path=HERE / name)
    size = (HERE / name).stat().st_size
    sys.stdout.write(f"{name}: {size} bytes\n")
    if size > MOST_BYTES:
        raise SystemExit(f"{name} has {size} bytes, more than {MOST_BYTES}")


if __name__ == "__main__":
    main()
