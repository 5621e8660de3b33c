"""The straight line from a farm folder to a checked round: the only place that knows every stage."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from routing.check import require_good
from routing.daylight.sun import sun_day
from routing.daylight.windows import working_light
from routing.farm.models import Farm, LightNeed
from routing.planning.build import build_day
from routing.planning.day import fit_day, plan_day
from routing.round import FitAnswer, Round
from routing.travel.farm import farm_legs

LOG = "log.sqlite"

if TYPE_CHECKING:
    from routing.share.light import LightRow


def season(farm: Farm, date: dt.date) -> Farm:
    """Return the farm with the jobs that are due on a date, where its folder has a log or jobs.csv has no job.

    Without a log nothing is known of what was done, so a farm that lists its jobs itself is planned as it stands.
    """
    if farm.season is None or (farm.jobs and not (farm.folder / LOG).exists()):
        return farm
    from routing.season.jobs import with_due_jobs  # noqa: PLC0415 - it brings a database along
    from routing.season.log import Log  # noqa: PLC0415

    return with_due_jobs(farm, Log.record_of(farm.folder), date)


def plan(farm: Farm, date: dt.date) -> Round:
    """Return the checked round of one date. Raises CheckFailed if it breaks a promise."""
    farm = season(farm, date)
    legs = farm_legs(farm)
    round_ = plan_day(build_day(farm, legs, date))
    require_good(round_, farm, legs)
    return round_


def fit(farm: Farm, date: dt.date) -> FitAnswer:
    """Return whether everything due on the date can be done, with a checked round where it can."""
    farm = season(farm, date)
    legs = farm_legs(farm)
    answer = fit_day(build_day(farm, legs, date))
    if answer.round is not None:
        require_good(answer.round, farm, legs)
    return answer


def light_rows(farm: Farm, date: dt.date) -> tuple[LightRow, ...]:
    """Return the sun and the working light of every site on one date, in words, local time."""
    from routing.share.light import LightRow  # noqa: PLC0415

    zone = ZoneInfo(farm.time_zone)

    def clock(moment: dt.datetime | None) -> str | None:
        return None if moment is None else f"{moment.astimezone(zone):%H:%M}"

    rows = []
    for site in farm.sites:
        sun = sun_day(site.place, date, zone)
        work = working_light(site.place, date, zone, LightNeed.DAYLIGHT, farm.rules)
        span = (
            None
            if work is None
            else int((work.closes.astimezone(dt.UTC) - work.opens.astimezone(dt.UTC)).total_seconds())
        )
        rows.append(
            LightRow(
                site=site.name,
                civil_dawn=clock(sun.civil_dawn),
                sunrise=clock(sun.sunrise),
                work_from=clock(work.opens) if work else None,
                work_until=clock(work.closes) if work else None,
                sunset=clock(sun.sunset),
                civil_dusk=clock(sun.civil_dusk),
                working_light=None if span is None else f"{span // 3600} h {span % 3600 // 60:02d}",
            )
        )
    return tuple(rows)


def write_round(round_: Round, folder: Path) -> tuple[Path, ...]:
    """Write a checked round as JSON, Markdown, a page for print and a map; return the files in that order."""
    from routing.share.files import round_json, write_all  # noqa: PLC0415
    from routing.share.map import round_map  # noqa: PLC0415
    from routing.share.markdown import round_markdown  # noqa: PLC0415
    from routing.share.page import round_page  # noqa: PLC0415

    makers: dict[str, Callable[[Round], str]] = {
        "round.json": round_json,
        "round.md": round_markdown,
        "round.html": round_page,
        "map.html": round_map,
    }
    return write_all({name: make(round_) for name, make in makers.items()}, folder)
