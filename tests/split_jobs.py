"""A farm whose large jobs are shared out as a plan shares them out at the least."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from routing.farm.models import Farm
from routing.planning.explain.split import cut_instance, needed_cuts
from routing.planning.model.build_instance import build_instance
from routing.travel.legs import Legs


def split_jobs(farm: Farm, legs: Legs, dates: Sequence[dt.date]) -> Farm:
    """Return the farm with every job that no visit can hold cut into the fewest even parts that each fit alone."""
    whole = build_instance(farm, legs, dates)
    return cut_instance(whole, needed_cuts(whole)).farm
