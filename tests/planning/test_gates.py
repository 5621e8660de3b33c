"""It is said that no light helps only where none does, at whatever hour of the day."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from routing.farm.models import Hours, LightNeed
from routing.planning.ask.fit import fit
from routing.planning.explain.gates import GATES, NONE
from tests.planning.paper_farm import KINDS, crew, days_of, job, paper_farm, span

MORNING = span("08:00", "08:45")


@pytest.mark.parametrize(
    ("night", "said"), [((), GATES), ((span("23:00", "23:45"),), NONE)], ids=["no other gate", "a gate in the dark"]
)
def test_a_gate_that_is_open_in_the_dark_counts(night: tuple[Hours, ...], said: str) -> None:
    """Ash and elm are both open from 8 to 8:45 and take 30 min each; elm at night as well, when light would do."""
    kinds = KINDS | {"look": KINDS["look"].model_copy(update={"light": LightNeed.DAYLIGHT})}
    gates: dict[str, dict[str, Any]] = {"ash": {"hours": (MORNING,)}, "elm": {"hours": (MORNING, *night)}}
    jobs = [job("ash", 30), job("elm", 30)]
    farm = paper_farm(jobs, 5, sites=gates, job_kinds=kinds, crews=crew(home_by=dt.time(23, 50)))
    assert fit(days_of(farm)).answer.lines[-1] == said
