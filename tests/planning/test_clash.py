"""The smallest clashing set, on the four-site example with all four as musts."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from routing import pipeline
from routing.farm.folder import read_farm
from routing.farm.models import Farm, Rank

EXAMPLE = Path(__file__).parents[2] / "examples" / "four-sites"
JUNE = dt.date(2026, 6, 10)


def all_musts(home_by: dt.time) -> Farm:
    read = read_farm(EXAMPLE)
    crew = read.crews[0].model_copy(update={"home_by": home_by})
    jobs = tuple(job.model_copy(update={"rank": Rank.MUST}) for job in read.jobs)
    return read.model_copy(update={"crews": (crew,), "jobs": jobs})


def test_musts_that_clash_are_named_and_any_one_less_is_enough() -> None:
    """All four need 270 min; any three at most 220 or 225, so with 240 all clash."""
    planned = pipeline.plan(all_musts(dt.time(12)), JUNE)
    assert "These 4 musts cannot all be done" in planned.clash
    for name in ("Alder", "Birch", "Cherry", "Damson"):
        assert name in planned.clash


def test_the_set_is_as_small_as_it_can_be() -> None:
    """With 140 min two fit only as A, B (100 + 45 is 145: no) or alone with C or D: the smallest clash has two musts."""
    planned = pipeline.plan(all_musts(dt.time(10, 20)), JUNE)
    assert "These 2 musts cannot all be done" in planned.clash


def test_no_clash_is_told_where_all_musts_fit() -> None:
    assert pipeline.plan(all_musts(dt.time(13)), JUNE).clash == ""
