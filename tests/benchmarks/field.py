"""How long the phone's page takes to say what still fits, and how much memory: `python -m tests.benchmarks.field`.

In Chromium slowed six times by its own debugging interface. Each search stands beside a fixed loop that is timed in the
same page in turn with it: on a busy machine both grow, the ratio of the two does not. Memory is that of the process that
shows the page: its greatest resident size during a search less that before it.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, sync_playwright

from routing.share.pages.inline import template_text
from tests.share.browser import CHROMIUM
from tests.share.field_days import SEARCH
from tests.share.test_field_search import long_day

SLOW_PHONE = 6
TURNS = 15
LOOP = """function fixedLoop() { const cells = new Int32Array(1 << 16); let x = 1;
  for (let turn = 0; turn < 8000000; turn += 1) { x = (Math.imul(x, 1103515245) + 12345) | 0; cells[x >>> 16] += x & 7; }
  return cells[5]; }"""
TIMED = """([moment, turns]) => { const found = { search: [], loop: [], ratio: [] }; let exact;
  for (let turn = 0; turn < turns; turn += 1) {
    let began = performance.now(); fixedLoop(); found.loop.push(performance.now() - began);
    began = performance.now(); exact = fieldAnswer().search(moment).exact; found.search.push(performance.now() - began);
    found.ratio.push(found.search[turn] / found.loop[turn]);
  }
  const middle = (all) => all.sort((a, b) => a - b)[all.length >> 1];
  return { exact, best: Math.min(...found.search), search: middle(found.search), loop: middle(found.loop), ratio: middle(found.ratio) }; }"""


def loaded(moment: dict[str, Any]) -> dict[str, Any]:
    """Return the day with two materials that do not go round, things to bring back, a payload, and a trip left."""
    hives = 5
    job = {"hives": hives, "each": 180.0, "whole": 7 * hives, "of": hives, "weight": 7 * hives}
    stops = [
        {
            **stop,
            "jobs": [
                {
                    **one,
                    **job,
                    "usesEach": [[number % 2, 2000.0]],
                    "uses": [[number % 2, 2000 * hives]],
                    "bringsEach": [[1, 500.0]] if number % 3 == 0 else [],
                    "brings": [[1, 500 * hives]] if number % 3 == 0 else [],
                }
                for one in stop["jobs"]
            ],
        }
        for number, stop in enumerate(moment["stops"])
    ]
    supplies = [{"grams": 1.0, "millilitres": 1.0, "pack": 0}] * 2
    return {**moment, "stops": stops, "board": [52_000, 47_000], "supplies": supplies, "payload": 200_000}


def days() -> dict[str, dict[str, Any]]:
    """Return each day under its words."""
    return {
        "14 visits": long_day(14, 1, rest=0),
        "14 visits and a break": long_day(14, 1, rest=1800),
        "14 visits, a break, what does not go round": loaded(long_day(14, 1, rest=1800)),
        "14 visits, a break, some of a job's hives": {**loaded(long_day(14, 1, rest=1800)), "board": [25_000, 47_000]},
        "20 visits and a break": long_day(20, 1, rest=1800),
        "20 visits, 30 jobs and a break": {
            **(day := long_day(20, 2, rest=1800)),
            "stops": [
                {**stop, "jobs": stop["jobs"][:1], "windows": [[0, 90_000, 1]]} if number >= 10 else stop
                for number, stop in enumerate(day["stops"])
            ],
        },
    }


def fresh(browser: Browser) -> Page:
    page = browser.new_page()
    page.add_script_tag(content="".join(map(template_text, SEARCH)) + LOOP)
    return page


def renderers(browser: Browser) -> list[int]:
    session = browser.new_browser_cdp_session()
    processes = session.send("SystemInfo.getProcessInfo")["processInfo"]
    session.detach()
    return [each["id"] for each in processes if each["type"] == "renderer"]


def peak_bytes(pid: int, what: str) -> int:
    lines = Path(f"/proc/{pid}/status").read_text(encoding="utf-8").splitlines()
    return next(int(line.split()[1]) * 1024 for line in lines if line.startswith(what))


def memory(browser: Browser, moment: dict[str, Any]) -> float:
    """Return by how many megabytes the page's process grows at the most in one search."""
    page = fresh(browser)
    page.evaluate("moment => fieldAnswer().search(moment).exact", long_day(3, 1, rest=0))
    pids = renderers(browser)
    held = {pid: peak_bytes(pid, "VmRSS") for pid in pids}
    for pid in pids:
        Path(f"/proc/{pid}/clear_refs").write_text("5", encoding="utf-8")
    page.evaluate("moment => fieldAnswer().search(moment).exact", moment)
    grown = max(peak_bytes(pid, "VmHWM") - held[pid] for pid in pids)
    page.close()
    return grown / 1e6


def say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def main() -> None:
    """Write a table."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        say(f"Chromium {browser.version}\n")
        say("| left to do | best search | middle one | fixed loop | ratio | looked at in full | memory |")
        say("| --- | --- | --- | --- | --- | --- | --- |")
        for words, moment in days().items():
            page = fresh(browser)
            session = page.context.new_cdp_session(page)
            session.send("Emulation.setCPUThrottlingRate", {"rate": SLOW_PHONE})
            found = page.evaluate(TIMED, [moment, TURNS if "20" not in words else 3])
            page.close()
            times = (*(f"{found[what]:.0f} ms" for what in ("best", "search", "loop")), f"{found['ratio']:.1f}")
            exact, grown = "yes" if found["exact"] else "no", memory(browser, moment)
            say(f"| {words} | {' | '.join(times)} | {exact} | {grown:.1f} MB |")
        browser.close()


if __name__ == "__main__":
    main()
