"""Some of a job's hives and one return to base: the phone's answer is as good as trying everything, written anew here."""

import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import ceil, floor
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.share.browser import CHROMIUM
from tests.together import then_deep

pytestmark = pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer")

Moment = dict[str, Any]
NOON = 43_200
SCALE = 60
"""Of weights: jobs have 2 to 5 hives, or 6, so that each share of one is whole."""


def short_moment(seed: int) -> Moment:
    """Return a moment of two to four stops at which one material does not go round, most with a trip left."""
    dice = random.Random(f"shared out {seed}")
    count = dice.randint(2, 4)
    now, home_by = NOON, NOON + dice.choice([5000, 9000, 14_000, 20_000])
    jobs = [_job(dice) for _ in range(count)]
    needed = sum(job["uses"][0][1] for job in jobs if job["uses"])
    drives = [[0 if a == b else dice.randint(300, 1500) for b in range(count + 1)] for a in range(count + 1)]
    base = {
        "loading": dice.choice([0, 900]),
        "out": drives[0][1:],
        "stock": [dice.choice([None, 0, 3000, 9000])],
    }
    return {
        "now": now,
        "homeBy": home_by,
        "breakSeconds": dice.choice([0, 1200]),
        "breakAfter": dice.choice([1800, 5400, 10_800]),
        "out": [dice.randint(300, 1500) for _ in range(count)],
        "home": [row[0] for row in drives[1:]],
        "outHome": dice.randint(300, 1500),
        "drives": [row[1:] for row in drives[1:]],
        "payload": dice.choice([None, 30_000, 15_000]),
        "space": None,
        "brought": [0, 0],
        "hives": [0, 0],
        "board": [dice.randint(0, max(1, needed))],
        "supplies": [{"grams": 1.0, "millilitres": 1.0, "pack": dice.choice([0, 2500])}],
        "base": base if dice.random() < 0.7 else None,
        "stops": [
            {
                "walk": 60,
                "last": dice.random() < 0.1,
                "windows": [[0, home_by - dice.randrange(3000), 1]],
                "jobs": [job],
            }
            for job in jobs
        ],
    }


def _job(dice: random.Random) -> dict[str, Any]:
    hives, weight = dice.choice([2, 3, 4, 5, 6]), dice.choice([7, 9, 14])
    each, takes = dice.choice([100.0, 250.5]), dice.choice([1000.0, 1000.0, 2500.0, 0.0])
    uses = [[0, takes]] if takes else []
    return {
        "setUp": 300,
        "work": ceil(each * hives),
        "rank": dice.choice([1, 1, 2]),
        "weight": weight * SCALE,
        "uses": [[0, ceil(takes * hives)]] if takes else [],
        "brings": [],
        "hives": hives,
        "each": each,
        "usesEach": uses,
        "bringsEach": [],
        "whole": weight * SCALE,
        "of": hives,
    }


@dataclass(frozen=True)
class SoFar:
    done: tuple[tuple[int, int], ...] = ()
    """Stops, and how many hives."""
    at: int = -1
    clock: int = 0
    rested: bool | None = None
    """Whether at a suspect site; None where there was no break yet."""
    first: int = 0
    """How many of the stops were made before base; all where it was not come back to."""
    by_base: bool = False


Key = tuple[tuple[int, ...], bool, int]


def by_hand(moment: Moment) -> Key | None:
    """Return the most weight by rank, whether no break is at a suspect site, and home, of all days that there are."""
    return max(_days(moment, SoFar(clock=moment["now"])), default=None)


def _days(moment: Moment, day: SoFar) -> Iterator[Key]:
    if day.done:
        key = _key(moment, day)
        if key is not None:
            yield key
    for there, stop in enumerate(moment["stops"]):
        if there in {made for made, _ in day.done}:
            continue
        for hives in range(1, stop["jobs"][0]["hives"] + 1):
            for begun in (day, *_again(moment, day)):
                yield from _on(moment, begun, there, hives)


def _again(moment: Moment, day: SoFar) -> Iterator[SoFar]:
    """Yield being back at base with loading done, with the break there and without."""
    if moment["base"] is None or day.by_base or (day.at >= 0 and moment["stops"][day.at]["last"]):
        return
    needed = sum(amount for stop in moment["stops"] for _, amount in stop["jobs"][0]["uses"])
    if needed <= moment["board"][0]:
        return  # one load would do
    arrive = day.clock + (moment["outHome"] if day.at < 0 else moment["home"][day.at])
    due = moment["now"] + moment["breakAfter"]
    if moment["breakSeconds"] and day.rested is None and arrive > due:
        return
    for pause in (0, moment["breakSeconds"]) if day.rested is None else (0,):
        ready = arrive + pause + moment["base"]["loading"]
        if ready <= moment["homeBy"]:
            rested = False if pause else day.rested
            yield replace(day, clock=ready, at=-2, rested=rested, first=len(day.done), by_base=True)


def _on(moment: Moment, day: SoFar, there: int, hives: int) -> Iterator[Key]:
    stop, before = moment["stops"][there], None if day.at < 0 else moment["stops"][day.at]
    if before is not None and before["last"] and not stop["last"]:
        return
    drive = {-1: moment["out"], -2: moment["base"] and moment["base"]["out"]}.get(day.at) or moment["drives"][day.at]
    pauses = [(0, day.rested)]
    in_time = day.at == -1 or day.clock <= moment["now"] + moment["breakAfter"]
    if moment["breakSeconds"] and day.rested is None and in_time and day.at != -2:
        pauses.append((moment["breakSeconds"], (before or stop)["last"]))
    for pause, rested in pauses:
        opens, closes, _ = stop["windows"][0]
        job = stop["jobs"][0]
        finish = max(opens, day.clock + drive[there] + pause) + stop["walk"] + job["setUp"] + ceil(job["each"] * hives)
        if finish <= closes:
            made = replace(day, done=(*day.done, (there, hives)), at=there, clock=finish, rested=rested)
            yield from _days(moment, made)


def _key(moment: Moment, day: SoFar) -> Key | None:
    home = day.clock + moment["home"][day.at]
    due = moment["breakSeconds"] > 0 and day.rested is None and home - moment["now"] > moment["breakAfter"]
    if home > moment["homeBy"] or due or not _there_is_enough(moment, day):
        return None
    score = [0, 0, 0, 0]
    for there, hives in day.done:
        job = moment["stops"][there]["jobs"][0]
        score[job["rank"]] += floor(job["whole"] * hives / job["of"])
    return tuple(score), not day.rested, -home


def _there_is_enough(moment: Moment, day: SoFar) -> bool:
    """Return whether what is taken can be had and carried, and at most one job is cut short, and that for want of it."""
    cut = [(there, hives) for there, hives in day.done if hives < moment["stops"][there]["jobs"][0]["hives"]]
    first = day.first if day.by_base else len(day.done)
    if len(cut) > 1 or (day.by_base and first == len(day.done)) or not _can_be_had(moment, day, first, dict(day.done)):
        return False
    if not cut:
        return True
    whole = {there: moment["stops"][there]["jobs"][0]["hives"] for there, _ in day.done}
    takes = moment["stops"][cut[0][0]]["jobs"][0]["usesEach"]
    return bool(takes) and not _can_be_had(moment, day, first, whole, carry=False)


def _can_be_had(moment: Moment, day: SoFar, first: int, hives: dict[int, int], *, carry: bool = True) -> bool:
    def used(stops: tuple[tuple[int, int], ...]) -> int:
        jobs = [(moment["stops"][there]["jobs"][0], hives[there]) for there, _ in stops]
        return sum(ceil(each * some) for job, some in jobs for _, each in job["usesEach"])

    now, then = used(day.done[:first]), used(day.done[first:])
    board, pack = moment["board"][0], moment["supplies"][0]["pack"]
    if now > board:
        return False
    if not day.by_base:
        return True
    stock = moment["base"]["stock"][0]
    if stock is not None and now + then > board + stock:
        return False
    short = max(0, then - (board - now))
    put_on = -(-short // pack) * pack if pack else short
    put_on = put_on if stock is None else min(put_on, stock)
    return not carry or moment["payload"] is None or board - now + put_on <= moment["payload"]


@pytest.mark.parametrize("seeds", then_deep([range(40)], [range(40, 120)]), ids=str)
def test_it_is_as_good_as_trying_everything(phone: Page, seeds: range) -> None:
    moments = [short_moment(seed) for seed in seeds]
    answers = phone.evaluate("moments => moments.map(moment => fieldAnswer().search(moment))", moments)
    for seed, moment, answer in zip(seeds, moments, answers, strict=True):
        day, rest = answer["day"], answer["day"]["rest"]
        suspect = (
            rest is not None and not rest["atBase"] and moment["stops"][day["stops"][rest["stop"]]["stop"]]["last"]
        )
        told = (tuple(answer["score"]), not suspect, -day["home"]) if day["stops"] else None
        assert answer["exact"]
        assert told == by_hand(moment), seed
    assert sum(answer["part"] is not None for answer in answers) > len(seeds) // 8
    assert sum(answer["again"] is not None for answer in answers) > len(seeds) // 8
