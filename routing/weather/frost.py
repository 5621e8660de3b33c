"""What must be done before the first frost, by the forecast."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

from routing.farm.forecast import Forecast
from routing.farm.models import Farm, Job

FROST_C = 0.0
"""Air colder than this is a frost. Source: Met Office, "air frost"; from memory, not checked."""


def first_frost(forecast: Forecast, zone: ZoneInfo) -> dt.date | None:
    """Return the local date on which the first forecast frost begins, None where none is forecast."""
    for spell in forecast.spells:
        if spell.temperature_c < FROST_C:
            return spell.begins.astimezone(zone).date()
    return None


def before_the_frost(farm: Farm) -> Farm:
    """Return the farm with every job that belongs before the first frost due by the day before it, or sooner.

    A frost of the night is on the ground at dawn, so a job done on the day of the frost may come too late.
    """
    frost = first_frost(farm.forecast, ZoneInfo(farm.time_zone)) if farm.forecast else None
    if frost is None:
        return farm
    latest = frost - dt.timedelta(days=1)

    def due(job: Job) -> Job:
        sooner = job.due_by is None or job.due_by > latest
        return job.model_copy(update={"due_by": latest}) if farm.job_kinds[job.kind].before_frost and sooner else job

    return farm.model_copy(update={"jobs": tuple(due(job) for job in farm.jobs)})
