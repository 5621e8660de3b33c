"""Small farms of the sort that ordinary random ones almost never are, each written as a folder that can be read.

Narrow opening hours, a break that is due in the middle of them, returns to base for another load, drives that break the
triangle rule, two spans a day. Small enough that every round of theirs can be looked at.
"""

from __future__ import annotations

import csv
import datetime as dt
import random
from collections.abc import Sequence
from pathlib import Path

PLACES = (
    ("Europe/London", 52.231, -2.947),
    ("Europe/London", 57.2, -3.8),
    ("Pacific/Auckland", -36.9, 174.7),
    ("America/New_York", 40.2, -75.1),
    ("Europe/Berlin", 52.5, 13.3),
    ("Australia/Sydney", -33.9, 150.9),
)
CLOCKS_CHANGE = {
    "Europe/London": ("2026-03-29", "2026-10-25"),
    "Pacific/Auckland": ("2026-04-05", "2026-09-27"),
    "America/New_York": ("2026-03-08", "2026-11-01"),
    "Europe/Berlin": ("2026-03-29", "2026-10-25"),
    "Australia/Sydney": ("2026-04-05", "2026-10-04"),
}
KINDS = """
[material.sugar]
unit = "kg"
kg_each = 1
litres_each = 1.2
sold_by = 10
pack = "sack"

[job_kind.look]
minutes_a_visit = 5
minutes_a_hive = 1

[job_kind.comb]
minutes_a_visit = 12
minutes_a_hive = 7.5

[job_kind.dusk]
minutes_a_visit = 10
minutes_a_hive = 3
light = "twilight will do"

[job_kind.night]
minutes_a_visit = 8
minutes_a_hive = 4
light = "after flying stops"

[job_kind.ever]
minutes_a_visit = 6
minutes_a_hive = 2.25
light = "any"

[job_kind.feed]
minutes_a_visit = 15
minutes_a_hive = 2
takes = { fondant = 2.5 }

[job_kind.sacks]
minutes_a_visit = 9
minutes_a_hive = 3
light = "twilight will do"
takes = { sugar = 3.3, strap = 1 }

[job_kind.crop]
minutes_a_visit = 15
minutes_a_hive = 5
takes = { clearer-board = 1 }
brings_back = { full-super = 2 }

[job_kind.pair]
minutes_a_visit = 10
minutes_a_hive = 6
people = 2

[job_kind.shift]
minutes_a_visit = 10
minutes_a_hive = 5
set_down_minutes_a_hive = 3
light = "any"
takes = { strap = 2 }
brings_back = { hive = 1, strap = 2 }
"""
LIGHT_KINDS = ("look", "look", "comb", "dusk", "dusk", "ever")
HEAVY_KINDS = ("feed", "feed", "sacks", "sacks", "crop", "crop")
MOST_JOBS = 7


class _Dice(random.Random):
    """Dice that also say yes so often."""

    def yes(self, share: float) -> bool:
        return self.random() < share


def write_hard_farm(folder: Path, seed: int) -> tuple[dt.date, ...]:
    """Write a hard farm into a folder, made where it is missing; return the dates to plan."""
    dice = _Dice(f"hard {seed}")
    zone, latitude, longitude = dice.choice(PLACES)
    loads = dice.yes(0.45)
    date = dt.date(2026, 1, 1) + dt.timedelta(days=dice.randrange(600))
    if dice.yes(0.08):
        date = dt.date.fromisoformat(dice.choice(CLOCKS_CHANGE[zone]))
    days = 2 if dice.yes(0.12) else 1
    count = dice.choice([2, 3, 3, 4, 4, 4, 5, 5] if loads else [2, 3, 4, 4, 5, 5, 6])
    spread = dice.choice([0.02, 0.05, 0.1])
    spots = _spots(dice, count, (latitude, longitude), spread)
    noon = dice.choice([11, 12, 12, 13])
    sites = [_site(dice, number, spot, noon, hard=True) for number, spot in enumerate(spots)]
    most = 5 if loads else MOST_JOBS if days == 1 else 5
    jobs = _jobs(dice, sites, date, most, loads=loads)
    crews = _crews(dice, loads=loads, several=days == 1 and count <= 4)
    head = [
        f'name = "Hard {seed}"',
        f'time_zone = "{zone}"',
        "[base]",
        'name = "Yard"',
        f'place = "{latitude:.6f}, {longitude:.6f}"',
        f"loading_minutes = {dice.choice([0, 0, 10, 15, 22.5])}",
    ]
    rules = [
        *([f"light_margin_minutes = {dice.choice([0, 10, 90])}"] if dice.yes(0.2) else []),
        *([f"finish_early_minutes = {dice.choice([5, 15, 30])}"] if dice.yes(0.2) else []),
        *([f"call_in_minutes = {dice.choice([30, 60])}"] if dice.yes(0.2) else []),
    ]
    stock = _stock(dice, loads=loads)
    _write(folder, "\n".join([*head, *crews, *stock, KINDS, *(["[rules]", *rules] if rules else [])]) + "\n")
    _tables(folder, sites, jobs, _drives(dice, count))
    return tuple(date + dt.timedelta(days=day) for day in range(days))


def write_easy_farm(folder: Path, seed: int) -> tuple[dt.date, ...]:
    """Write a farm with a roomy day and no traps into a folder; return the dates to plan."""
    dice = _Dice(f"easy {seed}")
    zone, latitude, longitude = dice.choice(PLACES)
    date = dt.date(2026, 4, 1) + dt.timedelta(days=dice.randrange(150))
    count = dice.choice([2, 3, 4, 5])
    spots = _spots(dice, count, (latitude, longitude), 0.05)
    sites = [_site(dice, number, spot, 12, hard=False) for number, spot in enumerate(spots)]
    jobs = _jobs(dice, sites, date, MOST_JOBS - 1, loads=False)
    crews = [
        *("[[vehicle]]", 'id = "van"', "payload_kg = 900", "space_litres = 5000", 'reaches = ["4x4"]'),
        *("[[crew]]", 'id = "one"', f"people = {dice.choice([1, 2])}", 'vehicle = "van"'),
        *('earliest_start = "07:00"', f'home_by = "{dice.choice([13, 15, 18])}:00"'),
    ]
    base = f'[base]\nplace = "{latitude:.6f}, {longitude:.6f}"'
    _write(folder, "\n".join([f'name = "Easy {seed}"', f'time_zone = "{zone}"', base, *crews, KINDS]) + "\n")
    _tables(folder, sites, jobs, [])
    return (date,)


def _write(folder: Path, text: str) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "farm.toml").write_text(text, encoding="utf-8")


def _tables(
    folder: Path,
    sites: Sequence[dict[str, object]],
    jobs: Sequence[dict[str, object]],
    drives: Sequence[dict[str, object]],
) -> None:
    for name, rows in (("sites.csv", sites), ("jobs.csv", jobs), ("drives.csv", drives)):
        if rows:
            with (folder / name).open("w", encoding="utf-8", newline="") as file:
                writer = csv.DictWriter(file, list(rows[0]))
                writer.writeheader()
                writer.writerows(rows)


def _spots(dice: _Dice, count: int, middle: tuple[float, float], spread: float) -> list[tuple[float, float]]:
    """Return places around the base: now and then several on one spot, or one at the base itself."""
    spots = [tuple(at + dice.uniform(-spread, spread) for at in middle) for _ in range(count)]
    if dice.yes(0.2):
        spots[-1] = spots[0]
    if dice.yes(0.1):
        spots[dice.randrange(count)] = middle
    return [(spot[0], spot[1]) for spot in spots]


def _site(dice: _Dice, number: int, spot: tuple[float, float], noon: int, *, hard: bool) -> dict[str, object]:
    narrow = hard and dice.yes(0.6)
    return {
        "id": f"s{number}",
        "name": f"Site {number}",
        "place": f"{spot[0]:.6f}, {spot[1]:.6f}",
        "hives": dice.choice([1, 2, 3, 4, 5, 7]),
        "nucs": dice.choice([0, 0, 2]),
        "hours": _hours(dice, noon) if narrow else "",
        "closed": "Sun" if dice.yes(0.05) else "",
        "vehicle_needed": "4x4" if dice.yes(0.06) else "",
        "walking_minutes": dice.choice([0, 0, 1, 3, 7.5]),
        "last_of_day": "yes" if hard and dice.yes(0.12) else "no",
    }


def _hours(dice: _Dice, noon: int) -> str:
    """Return one span of 30 to 120 minutes somewhere around noon, or two."""
    spans, now = [], noon * 60 + dice.randrange(-240, 150, 10)
    for _ in range(2 if dice.yes(0.3) else 1):
        end = now + dice.choice([30, 40, 50, 60, 80, 120])
        spans.append(f"{now // 60:02}:{now % 60:02}-{end // 60:02}:{end % 60:02}")
        now = end + dice.choice([30, 60, 90])
    return " ".join(spans)


def _jobs(
    dice: _Dice, sites: Sequence[dict[str, object]], date: dt.date, most: int, *, loads: bool
) -> list[dict[str, object]]:
    kinds = (*HEAVY_KINDS, "look", "dusk") if loads else (*LIGHT_KINDS, "feed", "pair", "night")
    healthy = [site for site in sites if site["last_of_day"] == "no"]
    jobs = []
    for number in range(min(most, len(sites) + dice.choice([0, 0, 0, 1, 2]))):
        site = sites[number % len(sites)] if number < len(sites) else dice.choice(sites)
        colonies = int(str(site["hives"])) + int(str(site["nucs"]))
        to = ""
        kind = dice.choice(kinds)
        others = [other for other in healthy if other is not site]
        if dice.yes(0.1) and site in healthy and others:
            kind, to = "shift", str(dice.choice(others)["id"])
        jobs.append(
            {
                "site": site["id"],
                "kind": kind,
                "hives": dice.choice(["", str(dice.randint(1, colonies)), str(dice.randint(1, colonies))]),
                "to": to,
                **_dates(dice, date),
                "rank": dice.choice(["must", "must", "must", "want", "want", "passing"]),
            }
        )
    return jobs


def _dates(dice: _Dice, date: dt.date) -> dict[str, object]:
    if dice.yes(0.06):
        return {"not_before": "", "due_by": "", "promised": date + dt.timedelta(days=dice.choice([0, 0, 1, 2]))}
    not_before = date + dt.timedelta(days=dice.choice([-3, 0, 1])) if dice.yes(0.1) else ""
    due_by = date + dt.timedelta(days=dice.randint(1, 8)) if not_before or dice.yes(0.15) else ""
    if not due_by and dice.yes(0.35):
        due_by = date - dt.timedelta(days=dice.randint(0, 14))
    return {"not_before": not_before, "due_by": due_by, "promised": ""}


def _crews(dice: _Dice, *, loads: bool, several: bool) -> list[str]:
    rows = []
    for number in range(2 if several and dice.yes(0.18) else 1):
        start = dice.choice([6, 7, 8, 8, 8, 9, 10])
        length = dice.choice([2, 2.5, 3, 4, 5, 6, 8, 10, 10])
        home = int(start * 60 + length * 60) + dice.choice([0, 0, 0, 5, 17])
        rows += [
            *("[[vehicle]]", f'id = "v{number}"'),
            f"payload_kg = {dice.choice([40, 50, 60, 70, 90, 120] if loads else [400, 2000])}",
            f"space_litres = {dice.choice([300, 500, 900, 5000] if loads else [2500, 6000])}",
            f"reaches = {dice.choice(['[]', '["4x4"]'])}",
            *("[[crew]]", f'id = "c{number}"', f"people = {dice.choice([1, 1, 1, 2, 2, 3])}", f'vehicle = "v{number}"'),
            f'earliest_start = "{start:02}:{dice.choice([0, 0, 15, 30]):02}"',
            f'home_by = "{home // 60:02}:{home % 60:02}"',
            f"break_minutes = {dice.choice([0, 20, 22.5, 30, 45, 60])}",
            f"break_after_hours = {dice.choice([1, 2, 2, 3, 3, 4.5, 6])}",
            f"trips_a_day = {dice.choice([1, 2, 2, 3])}",
            *(["home_before_dark = true"] if dice.yes(0.15) else []),
        ]
    return rows


def _stock(dice: _Dice, *, loads: bool) -> list[str]:
    if not dice.yes(0.4 if loads else 0.1):
        return []
    found = {
        "fondant": dice.choice([5, 12.5, 20, 33.3]),
        "sugar": dice.choice([5, 10, 25, 60]),
        "strap": dice.choice([1, 4, 30]),
        "clearer-board": dice.choice([0, 2, 5]),
    }
    return ["[stock]", *(f"{name} = {amount}" for name, amount in found.items() if dice.yes(0.5))]


def _drives(dice: _Dice, count: int) -> list[dict[str, object]]:
    """Return some known minutes: slower straight than by another place, very long, or next to none."""
    if not dice.yes(0.45):
        return []
    places = ["base", *(f"s{number}" for number in range(count))]
    rows = []
    for start in places:
        for end in places:
            if start != end and dice.yes(0.25):
                minutes = dice.choice([0, 0.1, 2, 5, 8.1, 10, 12, 20, 33, 45, 90])
                rows.append({"from": start, "to": end, "minutes": minutes})
    return rows
