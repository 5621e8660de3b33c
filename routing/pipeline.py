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
from routing.travel.background import Background
from routing.travel.farm import farm_and_legs, farm_background, farm_road_report, prepare_roads

if TYPE_CHECKING:
    from routing.share.light import LightRow


def plan(farm: Farm, date: dt.date) -> Round:
    """Return the checked round of one date. Raises CheckFailed if it breaks a promise."""
    farm, legs = farm_and_legs(farm)
    round_ = plan_day(build_day(farm, legs, date))
    require_good(round_, farm, legs)
    return round_


def fit(farm: Farm, date: dt.date) -> FitAnswer:
    """Return whether everything due on the date can be done, with a checked round where it can."""
    farm, legs = farm_and_legs(farm)
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


def ready_roads(farm: Farm, progress: Callable[[str, float], None]) -> None:
    """Build the farm's road map where it has one that is not built yet. Raises RoadError where it cannot be used."""
    prepare_roads(farm, progress)


def road_report(farm: Farm) -> tuple[str, ...]:
    """Return what the farm's road map covers and how the farm lies on it, a line each. Raises RoadError."""
    return farm_road_report(farm)


def background(farm: Farm, round_: Round) -> Background | None:
    """Return the roads around everything a round shows, None where the farm has no road map. Raises RoadError."""
    stops = [stop.site for itinerary in round_.itineraries for stop in itinerary.stops]
    sites = [farm.site(site).place for site in (*stops, *(left.site for left in round_.left_out))]
    return farm_background(farm, (farm.base.place, *sites))


def write_round(round_: Round, folder: Path, roads: Background | None = None) -> tuple[Path, ...]:
    """Write a checked round as JSON, Markdown, a page for print and a map; return the files in that order.

    `roads` are drawn under the map where they are given.
    """
    from routing.share.files import round_json, write_all  # noqa: PLC0415
    from routing.share.map import round_map  # noqa: PLC0415
    from routing.share.markdown import round_markdown  # noqa: PLC0415
    from routing.share.page import round_page  # noqa: PLC0415

    makers: dict[str, Callable[[Round], str]] = {
        "round.json": round_json,
        "round.md": round_markdown,
        "round.html": round_page,
        "map.html": lambda shown: round_map(shown, roads),
    }
    return write_all({name: make(round_) for name, make in makers.items()}, folder)
