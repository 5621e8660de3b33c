"""Random changes of a round by hand, as the page makes them: what is said of each is what the check says of it.

The check is the judge: it recomputes every second and kilogram by arithmetic of its own (`routing/check`).
"""

from __future__ import annotations

import datetime as dt
import random

import pytest

from routing.check import broken_promises
from routing.desk.trial import Pin, Trial
from routing.errors import AskedError
from routing.stages import plan as plan_stage
from tests.random_farms import random_farm, with_tight_loads
from tests.together import then_deep

CHANGES = 10
KINDS = ("move", "move", "move", "send", "drop", "add", "pin", "undo", "redo")


def changed(trial: Trial, dice: random.Random) -> str:
    """Make any one change of what is shown, as a page may ask for it, and return its kind; empty where none can be."""
    kind, state = dice.choice(KINDS), trial.state
    jobs = [job for day in state.days for stop in day.stops for job in stop]
    left = [entry for entry in trial.shown().round.left_out if entry.jobs]
    crew_day = dice.choice(trial.ready.crew_days)
    try:
        if kind == "add" and left:
            trial.add(tuple(job.id for job in dice.choice(left).jobs), dice.choice([None, crew_day]))
        elif kind in {"undo", "redo"}:
            getattr(trial, kind)()
        elif not jobs or kind == "add":
            return ""
        elif kind == "move":
            trial.move(dice.choice(jobs), crew_day, dice.randrange(len(jobs) + 1))
        elif kind == "send":
            trial.send(dice.choice(jobs), crew_day)
        elif kind == "drop":
            trial.drop(dice.choice(jobs))
        else:
            trial.pin(dice.choice(jobs), dice.choice([None, *Pin]))
    except AskedError:
        return ""
    return kind


@pytest.mark.parametrize("seed", then_deep(range(4), range(60)))
def test_what_is_shown_of_a_change_is_what_the_check_says_of_it(seed: int) -> None:
    """Ten changes of each farm: 40 in every run, more than 300 in the deep one; then all is undone, and is as it was."""
    farm, date = random_farm(seed)
    farm = with_tight_loads(farm, seed) if seed % 3 == 0 else farm
    dates = (date, date + dt.timedelta(days=1))[: 2 - seed % 2]
    trial = Trial(farm, plan_stage.plan(farm, *dates))
    dice, first = random.Random(seed), trial.state.days
    if not trial.ready.crew_days or not farm.jobs:
        return
    for _ in range(CHANGES):
        kind = changed(trial, dice)
        shown = trial.shown()
        broken = broken_promises(shown.round, trial.ready.farm, trial.ready.legs)
        assert shown.untimed or shown.holds == (not broken), (kind, shown.breaches, broken)
        wanted = {job for day in trial.state.days for stop in day.stops for job in stop}
        timed = {job.id for day in shown.round.itineraries for stop in day.stops for job in stop.jobs}
        assert shown.untimed or timed == wanted, kind
    while trial.may_undo:
        trial.undo()
    assert trial.state.days == first
    assert trial.shown().holds
