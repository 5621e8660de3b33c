"""A plan in which large jobs are shared out as finely as serves most."""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import islice

from routing.errors import AskedError
from routing.farm.models import Farm
from routing.planning.ask.own_order import OwnOrder, own_order
from routing.planning.day import LEAST_SECONDS, Wish, fit_day, plan_days
from routing.planning.explain.split import Cuts, cut_into, cuts_in, finer_cuts, needed_cuts, whole_of
from routing.planning.model.build import build_days
from routing.planning.model.problem import rank_score
from routing.round import FitAnswer, FitProof, Round
from routing.travel.legs import Legs

MOST_JOBS = 30
"""Up to so many jobs a round is planned again with what it leaves out cut finer; beyond, that would take minutes."""

MOST_CUTS = 4
"""So many finer cuts are tried, the coarsest first."""

WHOLE_WORDS = "Sharing a large job out over loads in other ways than a plan would was not looked at."


def plan_shared(farm: Farm, legs: Legs, dates: Sequence[dt.date], wish: Wish | None = None) -> tuple[Farm, Round]:
    """Return the best round of the dates with the farm whose jobs are cut as it was planned with.

    What no visit can hold is shared out first. A job that would fit whole, if it were not for the others, may leave no
    room for itself where a smaller vehicle, for which it must be shared out, has room for a part of it. So what takes
    or brings a load and is left out is cut finer as well, and that is kept where more is served: more payload never
    serves fewer hives.
    """
    begun = time.monotonic()
    cuts = needed_cuts(farm, legs, dates)
    best = plan_days(build_days(cut_into(farm, cuts), legs, dates), wish=wish)
    if best.proof.stopped or len(farm.jobs) > MOST_JOBS:
        return cut_into(farm, cuts), best
    quick = replace(wish or Wish(), progress=None, surest=False, even=False)
    most, finest = worth_served(farm, legs, dates, best), cuts
    for number, finer in enumerate(finer_cuts(farm, legs, dates, cuts, _left_out(best))):
        left = _left(quick, begun)
        if number >= MOST_CUTS or left is None:
            break
        tried = plan_days(build_days(cut_into(farm, finer), legs, dates), wish=left)
        if tried.proof.stopped:
            break
        worth = worth_served(farm, legs, dates, tried)
        if worth > most:
            most, finest = worth, _served_in_part(farm, tried, cuts)
    if finest == cuts:
        return cut_into(farm, cuts), best
    shared = cut_into(farm, finest)
    again = plan_days(build_days(shared, legs, dates), wish=_left(wish or Wish(), begun) or replace(quick, seconds=1))
    better = worth_served(farm, legs, dates, again) > worth_served(farm, legs, dates, best)
    return (shared, again) if better else (cut_into(farm, cuts), best)


def worth_served(farm: Farm, legs: Legs, dates: Sequence[dt.date], round_: Round) -> tuple[Fraction, ...]:
    """Return the weight that a round serves by rank, greatest first, a part its share of the hives.

    `farm` is that with its jobs whole; so rounds with other cuts can be compared.
    """
    days = build_days(cut_into(farm, cuts_in(farm, round_)), legs, dates)
    done = {job.id for itinerary in round_.itineraries for stop in itinerary.stops for job in stop.jobs}
    score = rank_score(days.problem, frozenset(task for task, job in enumerate(days.jobs) if job.id in done))
    return tuple(Fraction(weight, days.weight_scale) for weight in score)


def fit_shared(farm: Farm, legs: Legs, date: dt.date) -> FitAnswer:
    """Return whether everything due on the date can be done, with large jobs shared out as a plan may share them.

    A no that is not by arithmetic speaks of jobs done whole or in the parts that were tried, and says so.
    """
    dates = (date,)
    cuts = needed_cuts(farm, legs, dates)
    answer = fit_day(build_days(cut_into(farm, cuts), legs, dates))
    if answer.fits or answer.proof is FitProof.BOUND:  # parts take no less work, and no less load
        return answer
    finer = list(islice(finer_cuts(farm, legs, dates, cuts, tuple(job.id for job in farm.jobs)), MOST_CUTS))
    if len(farm.jobs) <= MOST_JOBS:
        for shared in finer:
            tried = fit_day(build_days(cut_into(farm, shared), legs, dates))
            if tried.fits:
                return tried
    return answer.model_copy(update={"lines": (*answer.lines, WHOLE_WORDS)}) if finer else answer


def own_order_shared(farm: Farm, legs: Legs, date: dt.date, crew: str | None, sites: Sequence[str]) -> OwnOrder:
    """Return what becomes of an order that a person gives, with large jobs shared out as it holds most.

    So an order is taken that a plan made by sharing out more finely than it had to. Raises AskedError.
    """
    dates, named = (date,), {site.partition(":")[0] for site in sites} | set(sites)
    cuts = needed_cuts(farm, legs, dates)
    here = tuple(job.id for job in farm.jobs if job.site in named)
    refused, best = None, None
    try:
        best = own_order(build_days(cut_into(farm, cuts), legs, dates), crew, sites)
    except AskedError as error:
        refused = error
    for finer in islice(finer_cuts(farm, legs, dates, cuts, _not_done(best, here)), MOST_CUTS):
        try:
            tried = own_order(build_days(cut_into(farm, finer), legs, dates), crew, sites)
        except AskedError:
            continue
        if best is None or _holds_more(farm, legs, dates, tried.round, best.round):
            best = tried
    if best is None:
        raise refused or AskedError("no order was given")
    return best


def _not_done(found: OwnOrder | None, here: Sequence[str]) -> tuple[str, ...]:
    """Return the jobs here that an order does not do whole."""
    if found is None or found.round is None:
        return tuple(here)
    left = set(_left_out(found.round))
    return tuple(job for job in here if job in left)


def _holds_more(farm: Farm, legs: Legs, dates: Sequence[dt.date], one: Round | None, other: Round | None) -> bool:
    if one is None or other is None:
        return one is not None
    return worth_served(farm, legs, dates, one) > worth_served(farm, legs, dates, other)


def _left_out(round_: Round) -> tuple[str, ...]:
    return tuple(whole_of(job.id) for left in round_.left_out for job in left.jobs)


def _served_in_part(farm: Farm, round_: Round, needed: Cuts) -> Cuts:
    """Return the cuts without those of jobs of which nothing is done, or all at one stop, unless they are needed."""
    stops = [{job.id for job in stop.jobs} for itinerary in round_.itineraries for stop in itinerary.stops]
    kept = {}
    for job, count in cuts_in(farm, round_).items():
        parts = [sum(whole_of(id_) == job and id_ != job for id_ in stop) for stop in stops]
        if job in needed or 0 < max(parts, default=0) < count:
            kept[job] = count
    return kept


def _left(wish: Wish, begun: float) -> Wish | None:
    """Return the wish with the seconds that are left of it, None where there is no time."""
    if wish.seconds is None:
        return wish
    left = wish.seconds - (time.monotonic() - begun)
    return replace(wish, seconds=left) if left > LEAST_SECONDS else None
