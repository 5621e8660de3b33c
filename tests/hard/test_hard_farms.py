"""Nothing that is said of small hard farms is false: plan, proof, reasons, places, remedies, clashes, `fit` and `try`."""

from __future__ import annotations

from pathlib import Path

import pytest

from routing.farm.folder import read_farm
from tests.hard.judge import judge_seed, write_farm
from tests.hard.oracle import Oracle
from tests.together import then_deep

HARD, EASY, CHUNK = 40, 10, 10
"""How many are judged in a test run; `make test-deep` judges 400 and 100, `python -m tests.hard.run` as many as are asked for."""


def false_of(seed: int, *, easy: bool = False) -> list[str]:
    """Return what is false on one farm, without what only is worth a look."""
    flavour = "easy" if easy else "hard"
    return [f"{flavour} {seed} {complaint}" for complaint in judge_seed(seed, easy=easy) if not complaint.soft]


@pytest.mark.parametrize("first", then_deep(range(0, HARD, CHUNK), range(0, 400, CHUNK)))
def test_every_sentence_about_a_hard_farm_is_true(first: int) -> None:
    """Narrow hours, breaks in waits, second loads, drives that are quicker by another place, judged by every round."""
    false = [line for seed in range(first, first + CHUNK) for line in false_of(seed)]
    assert not false, "\n".join(false)


@pytest.mark.parametrize("first", then_deep(range(0, EASY, CHUNK), range(0, 100, CHUNK)))
def test_every_sentence_about_an_easy_farm_is_true(first: int) -> None:
    """Roomy days without traps, judged by every round."""
    false = [line for seed in range(first, first + CHUNK) for line in false_of(seed, easy=True)]
    assert not false, "\n".join(false)


def test_hard_farms_are_hard(tmp_path: Path) -> None:
    """Among the farms judged each trap comes up: two spans, suspect sites, moves, returns, breaks, crews, dates, drives."""
    met: set[str] = set()
    for seed in range(HARD):
        dates = write_farm(tmp_path / str(seed), seed)
        farm = read_farm(tmp_path / str(seed))
        met |= {"two dates"} if len(dates) > 1 else set()
        met |= {"two crews"} if len(farm.crews) > 1 else set()
        met |= {"two spans"} if any(len(site.hours) > 1 for site in farm.sites) else set()
        met |= {"suspect"} if any(site.last_of_day for site in farm.sites) else set()
        met |= {"one spot"} if len({site.place for site in farm.sites}) < len(farm.sites) else set()
        met |= {"at base"} if any(site.place == farm.base.place for site in farm.sites) else set()
        met |= {"move"} if any(job.to for job in farm.jobs) else set()
        met |= {"promised"} if any(job.promised for job in farm.jobs) else set()
        met |= {"light"} if len({farm.job_kinds[job.kind].light for job in farm.jobs}) > 1 else set()
        met |= {"stock"} if farm.stock else set()
        met |= {"drives"} if farm.known_drives else set()
        met |= {"finish early"} if farm.rules.finish_early_minutes else set()
        oracle = Oracle(farm, dates)
        made = [timed for outing in oracle.outings if outing.table() for _, timed in outing.made.values()]
        met |= {"return to base"} if any(timed.cuts for timed in made) else set()
        met |= {"break"} if any(timed.gap >= 0 for timed in made) else set()
        seconds = oracle.world.legs.seconds
        met |= {"quicker by another place"} if (seconds > (seconds[:, :, None] + seconds).min(axis=1)).any() else set()
        met |= {"to the second"} if any(crew.home_by.second for crew in farm.crews) else set()
    assert met == {
        *("two dates", "two crews", "two spans", "suspect", "one spot", "at base", "move", "promised", "light"),
        *("stock", "drives", "finish early", "to the second", "return to base", "break", "quicker by another place"),
    }
