"""How the map does in a real browser: what overlaps, how large the page is, and how smoothly it pans on a slow phone.

    python -m tests.benchmarks.map_pages examples/hollin-vale 2026-12-10
    python -m tests.benchmarks.map_pages liechtenstein.osm.pbf     # any extract: twenty places of two crews by chance in Liechtenstein's box

The results that were measured stand in `map_pages.md`.
"""

from __future__ import annotations

import datetime as dt
import sys
import tempfile
from pathlib import Path

import numpy as np
from playwright.sync_api import Browser, Page, sync_playwright

from routing.farm.folder import read_farm
from routing.farm.models import Place
from routing.round import Round
from routing.share.map.map import round_map
from routing.stages.plan import plan
from routing.stages.write import background
from routing.travel.background import Background
from routing.travel.farm import farm_background
from tests.share.browser import CHROMIUM, QUIET
from tests.share.test_map_names import OVERLAPS, crowded_round
from tests.travel.roads.hand_map import farm_on

WIDTHS = {360: 640, 768: 1024, 1280: 800, 1920: 1080}
ZOOMS = 5
SLOWER = 5
FRAMES = """() => { window.frames = []; let before = performance.now(); window.going = true;
  const next = (now) => { window.frames.push(now - before); before = now; if (window.going) requestAnimationFrame(next); };
  requestAnimationFrame(next); }"""


def main() -> None:
    """Print one table for the farm or the extract that is named."""
    what = Path(sys.argv[1])
    round_, roads = _of_extract(what) if what.is_file() else _of_farm(what, dt.date.fromisoformat(sys.argv[2]))
    html = round_map(round_, roads)
    say(f"{what.name}: {sum(len(day.stops) for day in round_.itineraries)} stops, page {len(html.encode()):,} bytes")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        file = Path(folder) / "map.html"
        file.write_text(html, encoding="utf-8")
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        say("| width | scheme | ready ms | signs at each zoom | overlaps | frame median ms | 95 of 100 | longest |")
        say("| --- | --- | --- | --- | --- | --- | --- | --- |")
        for width, height in WIDTHS.items():
            for scheme in ("light", "dark"):
                _measured(browser, file, width, height, scheme)
        browser.close()


def _measured(browser: Browser, file: Path, width: int, height: int, scheme: str) -> None:
    page = browser.new_context(
        offline=True, viewport={"width": width, "height": height}, color_scheme="dark" if scheme == "dark" else "light"
    ).new_page()
    page.goto(file.as_uri())
    page.wait_for_timeout(300)
    ready = page.evaluate("performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd")
    frames = _pan(page)
    shown, overlaps = [], 0
    for nearer in (-1, 1, 1, 1.5, 1.5)[:ZOOMS]:
        page.evaluate(f"void map_1.setZoom(map_1.getZoom() + ({nearer}), {{animate: false}})")
        signs, found = page.evaluate(OVERLAPS)
        shown.append(str(signs))
        overlaps += len(found)
    times = f"{np.median(frames):.0f} | {np.percentile(frames, 95):.0f} | {frames.max():.0f}"
    say(f"| {width} | {scheme} | {ready:.0f} | {', '.join(shown)} | {overlaps} | {times} |")
    page.close()


def _pan(page: Page) -> np.ndarray:
    """Return the milliseconds of each frame while a hand drags the map, the processor throttled."""
    session = page.context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    box = page.locator(".map").bounding_box()
    if box is None:
        raise SystemExit("no map")
    x, y = box["x"] + box["width"] * 0.7, box["y"] + min(box["height"], 400) * 0.6
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 4, y)
    page.evaluate(FRAMES)
    for step in range(60):
        page.mouse.move(x - 4 - 2 * step, y - step)
    page.evaluate("window.going = false")
    frames = page.evaluate("window.frames.slice(2)")
    page.mouse.up()
    session.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    page.wait_for_timeout(400)
    return np.array(frames)


def _of_farm(folder: Path, date: dt.date) -> tuple[Round, Background | None]:
    farm = read_farm(folder)
    round_ = plan(farm, date)
    return round_, background(farm, round_)


def _of_extract(path: Path) -> tuple[Round, Background | None]:
    """Return two crews' day to twenty places by chance in Liechtenstein's box, over its roads."""
    box = ([47.07, 9.49], [47.24, 9.60])
    round_ = crowded_round(20, box)
    places = tuple(
        Place(latitude=stop.latitude, longitude=stop.longitude) for day in round_.itineraries for stop in day.stops
    )
    base = Place(latitude=47.166, longitude=9.51)
    farm = farm_on(path.resolve(), base, {f"s{n}": place for n, place in enumerate(places)})
    moved = {"base_latitude": base.latitude, "base_longitude": base.longitude, "left_out": (), "units": "km"}
    return round_.model_copy(update=moved), farm_background(farm, (base, *places))


def say(text: str) -> None:
    """Print a line."""
    sys.stdout.write(text + "\n")


if __name__ == "__main__":
    main()
