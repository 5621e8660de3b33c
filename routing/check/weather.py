"""The weather by the check's own arithmetic: time is cut at every change of the forecast and each piece is judged."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from routing.check.exact import instant
from routing.farm.forecast import Forecast, Spell
from routing.farm.models import JobKind


def without_bad_weather(
    spans: Iterable[tuple[int, int]], forecast: Forecast, kinds: Sequence[JobKind]
) -> list[tuple[int, int]]:
    """Return what is left of spans of instants when no piece breaks a limit of any of the job kinds."""
    spells = [(instant(spell.begins), instant(spell.ends), spell) for spell in forecast.spells]
    left: list[tuple[int, int]] = []
    for opens, closes in spans:
        if opens >= closes:
            continue
        marks = {mark for begins, ends, _ in spells for mark in (begins, ends) if opens < mark < closes}
        fresh = True  # pieces of one span that touch are one; those of two spans stay two
        for start, end in pairwise(sorted({opens, closes, *marks})):
            here = [spell for begins, ends, spell in spells if begins < end and start < ends]
            if any(_breaks(kind, spell) for kind in kinds for spell in here):
                fresh = True
            elif fresh:
                left.append((start, end))
                fresh = False
            else:
                left[-1] = (left[-1][0], end)
    return left


def _breaks(kind: JobKind, spell: Spell) -> bool:
    too_cold = kind.min_temperature_c is not None and spell.temperature_c < kind.min_temperature_c
    too_wet = kind.max_rain_mm_an_hour is not None and spell.rain_mm_an_hour > kind.max_rain_mm_an_hour
    too_windy = kind.max_wind_kmh is not None and spell.wind_kmh > kind.max_wind_kmh
    return too_cold or too_wet or too_windy
