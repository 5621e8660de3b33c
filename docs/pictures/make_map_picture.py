"""Make the README's pictures from the example day: `python docs/pictures/make_map_picture.py` after `make demo`."""

from __future__ import annotations

import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

FLAGS = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking")
HERE = Path(__file__).parent


def main() -> None:
    """Take a picture of the map as a desk sees it."""
    page_file = HERE.parent.parent / "examples/hollin-vale/rounds/2026-12-10/map.html"
    if not page_file.exists():
        sys.exit("no map yet: run `make demo` first")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=list(FLAGS))
        page = browser.new_page(viewport={"width": 1100, "height": 720}, device_scale_factor=0.8)
        page.goto(page_file.as_uri())
        page.wait_for_timeout(500)
        page.screenshot(path=HERE / "map.png")
        browser.close()


if __name__ == "__main__":
    main()
