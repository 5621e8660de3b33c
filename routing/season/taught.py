"""What a winter's hefts teach of all sites together: use above what was reckoned, and hefts rougher than was written.

Each site's hefts of the season that is on are held to what was reckoned since the first of them. `y` is what the hefts
say was used beyond that, `d` the days since, `u` the use reckoned:

    y = e x d + s x u + m + error of each heft

with `e` what all sites use more a day (air warmer than usual, or colonies that use more here than where it was
measured), `s` the site's habit and `m` the error of the first heft, which is free. Generalised least squares: with V
the covariance of all but `e`, a site tells of it with precision d' V^-1 d; before any heft it is normal about 0.
How far hefts truly are off is told by what is left over, r' V^-1 r, which has k - 1 degrees of freedom for k hefts.

Both count on the careful side alone. That less was used so far does not say that less will be; and hefts that agree
better than their error may all be off alike, when one person hefts.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from routing.farm.models import Farm, Site
from routing.farm.year import FeedRules
from routing.season.calendar import Span, spans
from routing.season.entries import Entry
from routing.season.feed import Air, fed_kg, sampled_kg
from routing.season.hefts import BELIEF_COUNT, Heft, hefts

Array = NDArray[np.float64]
FREE = 1e4
"""Variance of what is not known at all, square kilograms."""
STRAYS = 3.0
"""What one site's hefts tell is cut to so many standard deviations: beyond, it is robbing, or a slip of the pen.
Source: judgement, the usual three."""
ROUNDS = 3
"""The use and the error of hefts are found by turns so often: they settle within a hundredth."""
_DAY = dt.timedelta(days=1)


@dataclass(frozen=True, eq=False)
class _Course:
    """The hefts of one site in one season against what was reckoned, from the first on."""

    days: Array
    used: Array
    """As reckoned, kilograms."""
    more: Array
    """What the hefts say was used beyond that, kilograms."""
    sampled: Array
    """Variance of each heft because only some colonies were hefted."""

    def told(self, error_kg: float, site_share: float) -> tuple[float, float]:
        """Return what the hefts tell of `e` alone, kilograms a day, and with which precision."""
        inverse = self._inverse(error_kg, site_share)
        precision = float(self.days @ inverse @ self.days)
        return float(self.days @ inverse @ self.more) / precision, precision

    def left_over(self, more_kg_a_day: float, error_kg: float, site_share: float) -> float:
        """Return the square of what is left over, in variances."""
        rest = self.more - more_kg_a_day * self.days
        return float(rest @ self._inverse(error_kg, site_share) @ rest)

    def _inverse(self, error_kg: float, site_share: float) -> Array:
        many = len(self.days)
        within = np.diag(self.sampled + max(error_kg, 1e-3) ** 2) + site_share**2 * np.outer(self.used, self.used)
        return np.asarray(np.linalg.inv(within + FREE * np.ones((many, many))))


def as_taught(air: Air, farm: Farm, here: Mapping[str, Sequence[Entry]], on: dt.date) -> Air:
    """Return the air with the use and the error of hefts that those of the season teach, up to a date."""
    rules = air.rules
    season = next(spans(rules.starts, rules.ends, on, south=air.south))
    courses = list(_courses(farm, here, season, air)) if on in season else []
    if not courses:
        return air
    error = written = rules.heft_error_kg.value
    more = 0.0
    for _ in range(ROUNDS):
        more = max(0.0, _more(courses, rules, error))
        error = max(written, _error(courses, rules, more, written))
    figure = rules.heft_error_kg.model_copy(update={"value": error})
    return Air(rules.model_copy(update={"heft_error_kg": figure}), air.south, air.told, more)


def _more(courses: Sequence[_Course], rules: FeedRules, error_kg: float) -> float:
    """Return the likeliest use above what was reckoned, kilograms a day.

    Before any heft all sites are believed to stray together as far as warm winters and the habit of a site make one.
    """
    usual_kg = sum(course.used[-1] for course in courses) / sum(course.days[-1] for course in courses)
    winter = rules.winter_spread_c.value * rules.warmer_kg_a_day.value
    believed = math.hypot(winter, rules.site_use_share.value * usual_kg)
    if not believed:
        return 0.0
    total, weighed = 1 / believed**2, 0.0
    for course in courses:
        more, precision = course.told(error_kg, rules.site_use_share.value)
        most = STRAYS * math.sqrt(1 / precision + believed**2)
        total, weighed = total + precision, weighed + precision * min(most, max(-most, more))
    return weighed / total


def _error(courses: Sequence[_Course], rules: FeedRules, more_kg_a_day: float, written_kg: float) -> float:
    """Return the error of a heft, one standard deviation, with what is written weighing `BELIEF_COUNT` degrees."""
    squares, degrees = float(BELIEF_COUNT), BELIEF_COUNT
    for course in courses:
        free = len(course.days) - 1
        left = course.left_over(more_kg_a_day, written_kg, rules.site_use_share.value)
        squares, degrees = squares + min(left, STRAYS**2 * free), degrees + free
    return written_kg * math.sqrt(squares / degrees)


def _courses(farm: Farm, here: Mapping[str, Sequence[Entry]], season: Span, air: Air) -> Iterator[_Course]:
    for site in farm.sites:
        entries = here.get(site.id, ())
        found = [heft for heft in hefts(entries, site.colonies) if heft.date in season] if site.colonies else []
        if len(found) > 1:
            yield _course(entries, site, found, farm, air)


def _course(entries: Sequence[Entry], site: Site, found: Sequence[Heft], farm: Farm, air: Air) -> _Course:
    first, kg = found[0], found[0].stores_kg
    used, more = [0.0], [0.0]
    for before, now in pairwise(found):
        days = (before.date + _DAY * number for number in range((now.date - before.date).days))
        kg += sum(fed_kg(entry, farm, site) for entry in entries[before.number : now.number])
        used.append(used[-1] + sum(air.use_kg(date) for date in days))
        more.append(kg - used[-1] - now.stores_kg)
    between = air.rules.colony_spread_kg.value
    return _Course(
        days=np.array([(heft.date - first.date).days for heft in found], dtype=float),
        used=np.array(used),
        more=np.array(more),
        sampled=np.array([sampled_kg(heft, site, between) ** 2 for heft in found]),
    )
