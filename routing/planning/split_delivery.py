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
from routing.farm.parts import part_of
from routing.planning.ask.own_order import OwnOrder, own_order
from routing.planning.explain.gates import GATES, NONE
from routing.planning.explain.split import Cuts, cut_instance, cuts_in, finer_cuts, needed_cuts
from routing.planning.model.build_instance import build_instance
from routing.planning.model.instance import Instance
from routing.planning.model.problem import rank_score
from routing.planning.plan import LEAST_SECONDS, Wish, fit_day, plan_days
from routing.round import FitAnswer, FitProof, Round
from routing.travel.legs import Legs

MOST_JOBS = 30
"""Up to so many jobs a round is planned again with what it leaves out cut finer; beyond, that would take minutes."""

MOST_CUTS = 4
"""So many finer cuts are tried, the coarsest first."""

WHOLE_WORDS = "Sharing large jobs out over loads more than that was not looked at."
TRIED_WORDS = "Sharing large jobs out over loads in a few more ways does not make it fit; others were not looked at."


def plan_shared(farm: Farm, legs: Legs, dates: Sequence[dt.date], wish: Wish | None = None) -> tuple[Farm, Round]:
    """Return the best round of the dates with the farm whose jobs are cut as it was planned with.

    What no visit can hold is shared out first. A job that would fit whole, if it were not for the others, may leave no
    room for itself where a smaller vehicle, for which it must be shared out, has room for a part of it. So what takes
    or brings a load and is left out is cut finer as well, and that is kept where more is served: more payload never
    serves fewer hives.
    """
    begun = time.monotonic()
    whole = build_instance(farm, legs, dates)
    cuts = needed_cuts(whole)
    instance = cut_instance(whole, cuts)
    best = plan_days(instance, wish=wish)
    if best.proof.stopped or len(farm.jobs) > MOST_JOBS:
        return instance.farm, best
    quick = replace(wish or Wish(), progress=None, surest=False, even=False, explained=False)
    most, finest = worth_served(instance, best), cuts
    for finer in islice(finer_cuts(whole, cuts, _left_out(best)), MOST_CUTS):
        left = _left(quick, begun)
        if left is None:
            break
        shared = cut_instance(whole, finer)
        tried = plan_days(shared, wish=left)
        if tried.proof.stopped:
            break
        worth = worth_served(shared, tried)
        if worth > most:
            most, finest = worth, _served_in_part(farm, tried, cuts)
    if finest == cuts:
        return instance.farm, best
    shared = cut_instance(whole, finest)
    asked = wish or Wish()
    again = plan_days(shared, wish=_left(asked, begun) or replace(quick, seconds=1, explained=asked.explained))
    better = worth_served(shared, again) > worth_served(instance, best)
    return (shared.farm, again) if better else (instance.farm, best)


def worth_served(instance: Instance, round_: Round) -> tuple[Fraction, ...]:
    """Return the weight that a round of the days serves by rank, greatest first, a part its share of the hives.

    So rounds of the same jobs with other cuts can be compared.
    """
    done = {job.id for itinerary in round_.itineraries for stop in itinerary.stops for job in stop.jobs}
    score = rank_score(instance.problem, frozenset(task for task, job in enumerate(instance.jobs) if job.id in done))
    return tuple(Fraction(weight, instance.weight_scale) for weight in score)


def fit_shared(farm: Farm, legs: Legs, date: dt.date) -> FitAnswer:
    """Return whether everything due on the date can be done, with large jobs shared out as a plan may share them.

    A no that is not by arithmetic, with its minutes, speaks of jobs done whole or in the fewest parts, and says so.
    """
    whole = build_instance(farm, legs, (date,))
    cuts = needed_cuts(whole)
    answer = fit_day(cut_instance(whole, cuts))
    if answer.fits or answer.proof is FitProof.BOUND:  # parts take no less work, and no less load
        return answer
    finer = list(islice(finer_cuts(whole, cuts, tuple(job.id for job in farm.jobs)), MOST_CUTS))
    few = len(farm.jobs) <= MOST_JOBS
    for shared in finer if few else ():
        tried = fit_day(cut_instance(whole, shared))
        if tried.fits:
            return tried
    words = (TRIED_WORDS if few else WHOLE_WORDS,) if finer else ()
    # That no light helps was looked at for these jobs as they are, and may be false of finer ones.
    lines = tuple(line.replace(GATES, NONE) if words else line for line in answer.lines)
    return answer.model_copy(update={"lines": (*lines, *words)})


def own_order_shared(farm: Farm, legs: Legs, date: dt.date, crew: str | None, sites: Sequence[str]) -> OwnOrder:
    """Return what becomes of an order that a person gives, with large jobs shared out as it holds most.

    So an order is taken that a plan made by sharing out more finely than it had to. Raises AskedError.
    """
    whole = build_instance(farm, legs, (date,))
    cuts = needed_cuts(whole)
    named = {site.partition(":")[0] for site in sites} | set(sites)
    here = tuple(job.id for job in farm.jobs if job.site in named)
    instance = cut_instance(whole, cuts)
    refused, best = None, None
    try:
        best = own_order(instance, crew, sites)
    except AskedError as error:
        refused = error
    most = _held(instance, best)
    for finer in islice(finer_cuts(whole, cuts, _not_done(best, here)), MOST_CUTS):
        shared = cut_instance(whole, finer)
        try:
            tried = own_order(shared, crew, sites)
        except AskedError:
            continue
        if best is None or _held(shared, tried) > most:
            best, most = tried, _held(shared, tried)
    if best is None:
        raise refused or AskedError("no order was given")
    return best


def _held(instance: Instance, order: OwnOrder | None) -> tuple[Fraction, ...]:
    """Return what an order serves, less than anything where it makes no round."""
    return () if order is None or order.round is None else worth_served(instance, order.round)


def _not_done(found: OwnOrder | None, here: Sequence[str]) -> tuple[str, ...]:
    """Return the jobs here that an order does not do whole."""
    if found is None or found.round is None:
        return tuple(here)
    left = set(_left_out(found.round))
    return tuple(job for job in here if job in left)


def _left_out(round_: Round) -> tuple[str, ...]:
    return tuple(part_of(job.id).whole for left in round_.left_out for job in left.jobs)


def _served_in_part(farm: Farm, round_: Round, needed: Cuts) -> Cuts:
    """Return the cuts without those of jobs of which nothing is done, or all at one stop, unless they are needed."""
    stops = [{job.id for job in stop.jobs} for itinerary in round_.itineraries for stop in itinerary.stops]
    kept = {}
    for job, count in cuts_in(farm, round_).items():
        parts = [sum(part_of(id_).whole == job for id_ in stop) for stop in stops]
        if job in needed or 0 < max(parts, default=0) < count:
            kept[job] = count
    return kept


def _left(wish: Wish, begun: float) -> Wish | None:
    """Return the wish with the seconds that are left of it, None where there is no time."""
    if wish.seconds is None:
        return wish
    left = wish.seconds - (time.monotonic() - begun)
    return replace(wish, seconds=left) if left > LEAST_SECONDS else None
