"""The weather in which work may be done, as windows: what a forecast leaves of the light and the opening hours."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from routing.daylight.windows import Window, site_windows
from routing.farm.forecast import Forecast, Spell
from routing.farm.models import Farm, JobKind, LightNeed, Rules, Site


@dataclass(frozen=True, order=True)
class Limits:
    """The coldest, wettest and windiest weather in which work may be done; without bounds where it does not matter."""

    coldest_c: float = -math.inf
    wettest_mm_an_hour: float = math.inf
    windiest_kmh: float = math.inf

    def allow(self, spell: Spell) -> bool:
        """Return whether work may be done in the whole of a spell."""
        return (
            spell.temperature_c >= self.coldest_c
            and spell.rain_mm_an_hour <= self.wettest_mm_an_hour
            and spell.wind_kmh <= self.windiest_kmh
        )


@dataclass(frozen=True, order=True)
class WorkNeed:
    """What one job kind asks of the sky; kinds with the same need share their windows."""

    light: LightNeed
    limits: Limits = Limits()


def limits_of(kind: JobKind) -> Limits:
    """Return the weather limits of a job kind."""
    return Limits(
        -math.inf if kind.min_temperature_c is None else kind.min_temperature_c,
        math.inf if kind.max_rain_mm_an_hour is None else kind.max_rain_mm_an_hour,
        math.inf if kind.max_wind_kmh is None else kind.max_wind_kmh,
    )


def work_need(farm: Farm, kind: JobKind) -> WorkNeed:
    """Return the need of a job kind; without a forecast the weather has no say in it."""
    return WorkNeed(kind.light, limits_of(kind)) if farm.forecast else WorkNeed(kind.light)


def work_windows(
    farm: Farm, site: Site, date: dt.date, zone: ZoneInfo, needs: Iterable[WorkNeed]
) -> tuple[Window, ...]:
    """Return the windows for work that has all these needs, in order and apart; empty where there are none.

    They are the windows of light and opening hours, less each spell that is too cold, wet or windy for one of the
    needs, and each closes the farm's `finish_early_minutes` sooner. Time of which the forecast knows nothing is kept.
    """
    wanted = tuple(needs)
    windows = site_windows(site, date, zone, [need.light for need in wanted], farm.rules)
    spells = farm.forecast.spells if farm.forecast else ()
    unfit = [spell for spell in spells if not all(need.limits.allow(spell) for need in wanted)]
    early = dt.timedelta(seconds=finish_early_seconds(farm.rules))
    pieces = (piece for window in windows for piece in _between(window, unfit))
    return tuple(
        Window(opens.astimezone(zone), (closes - early).astimezone(zone))
        for opens, closes in pieces
        if opens < closes - early
    )


def finish_early_seconds(rules: Rules) -> int:
    """Return how much sooner windows close and crews are home than they must, in whole seconds."""
    return math.ceil(round(rules.finish_early_minutes * 60, 6))


def covers(forecast: Forecast, opens: dt.datetime, closes: dt.datetime) -> bool:
    """Return whether the forecast knows all of the time between two moments."""
    now = opens.astimezone(dt.UTC)
    for spell in forecast.spells:
        if spell.begins <= now < spell.ends:
            now = spell.ends
    return now >= closes.astimezone(dt.UTC)


def _between(window: Window, unfit: Sequence[Spell]) -> Iterable[tuple[dt.datetime, dt.datetime]]:
    """Yield what the unfit spells, which are in order, leave of the window, in universal time."""
    now, end = window.opens.astimezone(dt.UTC), window.closes.astimezone(dt.UTC)
    for spell in unfit:
        begins, ends = spell.begins.astimezone(dt.UTC), spell.ends.astimezone(dt.UTC)
        if now < min(begins, end):
            yield now, min(begins, end)
        now = max(now, ends)
    if now < end:
        yield now, end
