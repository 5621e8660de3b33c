"""All that is false in what the program says of one small farm."""

from __future__ import annotations

import datetime as dt
import random
import re
import tempfile
import traceback
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from unittest.mock import patch

from routing.check import broken_promises, what_holds
from routing.errors import CheckFailed
from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.round import Round
from routing.stages.plan import plan
from routing.travel.legs import Legs
from tests.hard.complaint import Complaint
from tests.hard.hard_farms import write_easy_farm, write_hard_farm
from tests.hard.judge_left_out import judge_clash, judge_left_out
from tests.hard.judge_proof import judge_proof, judge_wide
from tests.hard.judge_questions import judge_fit, judge_try, listed
from tests.hard.judge_remedies import judge_remedies
from tests.hard.judge_round import judge_round
from tests.hard.made import made_of
from tests.hard.oracle import Oracle

TIGHT = 0.25
"""Share of the hard farms whose crew has to be home as early as it just could, or sooner."""


def write_farm(folder: Path, seed: int, *, easy: bool = False) -> tuple[dt.date, ...]:
    """Write one made-up farm into a folder; return the dates to plan.

    Of the hard ones, one in four has to be home so early that the shortest round of all its jobs just does not fit, or
    just does.
    """
    if easy:
        return write_easy_farm(folder, seed)
    dates = write_hard_farm(folder, seed)
    dice = random.Random(f"tight {seed}")
    oracle = Oracle(read_farm(folder), dates)
    if len(oracle.outings) != 1 or dice.random() > TIGHT:
        return dates
    (outing,) = oracle.outings
    outing.table()
    most = max(outing.made, key=int.bit_count, default=0)
    if most:
        home = outing.made[most][1].home + round(oracle.world.farm.rules.finish_early_minutes * 60)
        early = dt.datetime.fromtimestamp(home - dice.choice([0, 1, 60, 300, 900]), tz=oracle.world.zone)
        text = (folder / "farm.toml").read_text(encoding="utf-8")
        start = outing.day.crew.earliest_start
        if early.date() == dates[0] and early.time() > start:
            text = re.sub(r'home_by = "[^"]*"', f"home_by = {early:%H:%M:%S}", text)
            (folder / "farm.toml").write_text(text, encoding="utf-8")
    return dates


def judge_seed(seed: int, *, easy: bool = False) -> list[Complaint]:
    """Return what is false in the plan, `fit` and `try` of one made-up farm."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        dates = write_farm(folder, seed, easy=easy)
        return judge_farm(read_farm(folder), dates, seed)


def judge_farm(farm: Farm, dates: Sequence[dt.date], seed: int = 0) -> list[Complaint]:
    """Return what is false in the plan, `fit` and `try` of a farm; an exception of the program is one more complaint.

    Judged is what was planned, before the check left away what it found false; what the check found is told too.
    """
    found: list[Complaint] = []
    heard = partial(_heard, found)
    with patch("routing.stages.plan.what_holds", heard), patch("routing.stages.ask.what_holds", heard):
        for asked in (_of_plan(farm, dates, seed), judge_fit(farm, dates[0])):
            try:
                found += list(asked)
            except Exception as error:  # noqa: BLE001 - whatever a valid farm makes the program raise is a finding
                where = traceback.extract_tb(error.__traceback__)[-1]
                text = f"{Path(where.filename).name}:{where.lineno} {error}".replace("\n", " | ")
                found.append(Complaint(f"exception: {type(error).__name__}", text))
    return list(dict.fromkeys(found))


def _heard(found: list[Complaint], round_: Round, farm: Farm, legs: Legs) -> Round:
    """Return the round as it was planned, and note what the check has against it."""
    try:
        shown = what_holds(round_, farm, legs)
    except CheckFailed as error:
        found.append(Complaint("check failed", f"{error}".replace("\n", " | ")))
    else:
        if shown.faults:
            told = broken_promises(round_, farm, legs)
            days = "; ".join(", ".join(stop.site for stop in day.stops) for day in round_.itineraries)
            asked = f"in the given order {days}: " if round_.given_order else ""
            found.append(Complaint("check finds", asked + " | ".join(told)))
    return round_


def _of_plan(farm: Farm, dates: Sequence[dt.date], seed: int) -> Iterator[Complaint]:
    round_ = plan(farm, *dates)
    oracle = Oracle(farm, dates, listed(round_))
    wrong = list(judge_round(round_, oracle))
    yield from wrong
    if any(complaint.sort in {"unknown stop", "jobs not once"} for complaint in wrong):
        return
    days = made_of(round_, oracle)
    yield from judge_proof(round_, oracle, days)
    yield from judge_wide(round_, oracle, days)
    yield from judge_left_out(round_, oracle, days)
    yield from judge_remedies(round_, oracle, days)
    yield from judge_clash(round_, oracle)
    if len(dates) == 1 and not any(" part " in name for name in listed(round_)):
        yield from judge_try(farm, dates[0], round_, oracle, seed)
