"""Questions about a day: whether all fits, an own order, the rest of the day, something changed, its chance."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from routing.check import what_holds
from routing.farm.models import BASE, Farm, Site, Underway
from routing.farm.naming import crew_named, site_named
from routing.farm.places import parse_place
from routing.planning.ask.fit import MOST_SEARCHED, too_full
from routing.planning.ask.moment import Moment, aboard_now, at_base_now, crew_out, had_until
from routing.planning.ask.own_order import OwnOrder
from routing.planning.ask.rest_many import rest_of_many
from routing.planning.ask.rest_of_day import HERE, from_here, rest_of_day
from routing.planning.ask.rest_round import FromBase, rest_rounds, told_in_the_field
from routing.planning.ask.what_if import Changes, changed
from routing.planning.chance.recourse import Drop, drops
from routing.planning.chance.simulate import Odds, odds, simulate
from routing.planning.chance.spread import Spread
from routing.planning.explain.split import cut_into, cuts_in
from routing.planning.model.build_instance import build_instance
from routing.planning.model.dates import whole_seconds
from routing.planning.plan import Wish, plan_days
from routing.planning.running.parts import MOST_ALONE, Here, Parts
from routing.planning.split_delivery import fit_shared, own_order_shared
from routing.round import FitAnswer, FitProof, Round
from routing.stages.due import to_plan
from routing.stages.plan import checked, plan, planned
from routing.travel.farm import farm_and_base_legs, farm_and_legs, with_needed_sites
from routing.travel.legs import Legs
from routing.weather.limits import finish_early_seconds

__all__ = ["Changes", "Moment"]  # known by this module's name too

REST_WORK = 5.0
"""Work of the search for the rest of a day of more than 30 jobs: on two days 2 units found the same jobs as 10."""


def fit(farm: Farm, date: dt.date) -> FitAnswer:
    """Return whether everything due on the date can be done, with a checked round where it can.

    Jobs are shared out as for a plan. Where the round that shows it does not hold, nothing is proved and the fault is
    told. Raises what `prepared` raises.
    """
    wanted = with_needed_sites(to_plan(farm, date))
    sums = _by_sums(wanted, date)
    if sums is not None:
        return sums
    farm, legs = farm_and_legs(wanted)
    answer = fit_shared(farm, legs, date)
    if answer.round is None:
        return answer
    round_ = what_holds(answer.round, cut_into(farm, cuts_in(farm, answer.round)), legs)
    if round_.all_done == answer.round.all_done and len(round_.itineraries) == len(answer.round.itineraries):
        return answer.model_copy(update={"round": round_})
    lines = ("Whether everything can be done is not known: the round that shows it did not pass the check.",)
    return FitAnswer(date=answer.date, fits=False, proof=FitProof.NOT_PROVED, lines=(*lines, *round_.faults))


def _by_sums(farm: Farm, date: dt.date) -> FitAnswer | None:
    """Return a no that sums prove of very many jobs before any drive between two sites is known, None elsewhere.

    Hives that are moved need such a drive.
    """
    if len(farm.jobs) <= MOST_SEARCHED or any(job.to for job in farm.jobs):
        return None
    known = farm_and_base_legs(farm)
    return None if known is None else too_full(build_instance(*known, (date,)))


def order_named(farm: Farm, words: Sequence[str], crew: str | None) -> tuple[tuple[str, ...], str | None]:
    """Return the ids of the sites of an order, and of its crew where one is named, by their ids or names.

    A move of hives is `from:to`. Raises AskedError where a word names none, or several.
    """
    sites = tuple(":".join(site_named(farm, end.strip()) for end in word.split(":")) for word in words)
    return sites, crew_named(farm, crew) if crew else None


def try_order(farm: Farm, date: dt.date, crew: str | None, order: Sequence[str]) -> OwnOrder:
    """Return what becomes of an order that a person gives: the checked round, or what it breaks.

    `order` has the ids of sites, a move of hives as `from:to`, as `order_named` gives them. Jobs are shared out as for
    a plan. Where no crew is named, one that is out that day makes the order. Raises AskedError.
    """
    farm, legs = farm_and_legs(to_plan(farm, date))
    tried = own_order_shared(farm, legs, date, crew, order)
    if tried.round is None:
        return tried
    round_ = what_holds(tried.round, cut_into(farm, cuts_in(farm, tried.round)), legs)
    if len(round_.itineraries) == len(tried.round.itineraries):
        return replace(tried, round=round_)
    return OwnOrder(
        ("Whether this order keeps every rule is not known: it did not pass the check.", *round_.faults), None
    )


def replan(
    farm: Farm, date: dt.date, crew: str, moment: Moment, *, wish: Wish | None = None, keep_stopped: bool = False
) -> Round:
    """Return the checked round of the rest of a crew's day; the first of `rest`, where there are two.

    The rest is that of `plan`. Raises AskedError and PlaceError.
    """
    return rest(farm, date, crew, moment, wish=wish, keep_stopped=keep_stopped)[0]


def rest(
    farm: Farm, date: dt.date, crew: str, moment: Moment, *, wish: Wish | None = None, keep_stopped: bool = False
) -> tuple[Round, ...]:
    """Return the checked round of the rest of a crew's day; two where it comes back to base for more in between.

    The first then ends at base, the second begins there, with all that is on the vehicle after loading. Raises
    AskedError and PlaceError.
    """
    written, here = to_plan(farm, date), moment.here
    if moment.planned is not None:
        written = cut_into(written, cuts_in(written, moment.planned))
    known = {BASE: (farm.base.name, farm.base.place)} | {site.id: (site.name, site.place) for site in written.sites}
    name, place = known.get(here) or (here, parse_place(here))
    standing = () if here in known else (Site(id=HERE, name=name, place=place, parking=place, hives=0),)
    walked, legs = farm_and_legs(written.model_copy(update={"sites": (*written.sites, *standing)}))
    farm = walked.model_copy(update={"sites": walked.sites[: len(written.sites)]})  # the vehicle stands there, no more
    who = crew_out(farm, crew, date, moment)
    stands = Underway(name=name, place=place, at=moment.at)
    left = rest_of_day(farm, who, stands, had_until(who, date, moment), aboard_now(farm, crew, moment))
    stock = at_base_now(farm, who, moment)
    base = None if stock is None else FromBase(legs, whole_seconds(farm.base.loading_minutes), stock)
    legs = from_here(legs, legs.index(here) if here in known else len(legs.places) - 1)
    day = moment.day_of(crew)
    plan = [job.id for stop in day.stops for job in stop.jobs] if day is not None else []
    wish = wish or Wish()
    parts = rest_rounds(left, legs, date, base, plan, None if wish.explained else 0)
    if parts is None:
        wished = replace(wish, surest=False, explained=False)
        parts = (rest_of_many(left, legs, date, base, plan, lambda instance: plan_days(instance, REST_WORK, wished)),)
    return tuple(
        checked(part.farm, part.legs, told_in_the_field(part.instance, part.round), keep_stopped=keep_stopped)
        for part in parts
    )


def as_if(farm: Farm, changes: Changes) -> tuple[tuple[str, Farm], ...]:
    """Return the farm as it is, with each change alone, and with all of them, each under its words.

    Raises AskedError where something cannot be changed so.
    """
    singles = list(changes.alone())
    asked = [("as it is", farm), *((words, changed(farm, change)) for words, change in singles)]
    if len(singles) > 1:
        asked.append(("all of these", changed(farm, changes)))
    return tuple(asked)


@dataclass(frozen=True)
class Compared:
    """The checked round as the farm is, with each change alone, and with all of them, each under its words."""

    rows: tuple[tuple[str, Round], ...]
    again: bool
    """Whether the first is the one that was written, which still holds, and was not searched for."""


def compared(farm: Farm, date: dt.date, changes: Changes, wish: Wish | None = None) -> Compared:
    """Return a date's rounds with something changed beside the one as it is; the wish is that of each.

    They are compared by what they do, so what would save left-out work is not sought, nor how good they are.
    """
    (first, _), *asked = as_if(farm, changes)
    wish = replace(wish or Wish(), explained=False, bounded=False)
    few = wish.seconds is not None or len(to_plan(farm, date).jobs) <= MOST_ALONE
    with Parts(wish.executor, few=few) as parts:
        sent = replace(wish, progress=None, executor=Here()) if parts.beside else wish
        begun = [(words, parts.begin(_planned_as, (one, date, sent))) for words, one in asked]
        now = planned(farm, date, wish=wish)
        others = tuple((words, later.answer()) for words, later in begun)
    return Compared(((first, now.round), *others), now.again)


def _planned_as(asked: tuple[Farm, dt.date, Wish]) -> Round:
    farm, date, wish = asked
    return plan(farm, date, wish=wish)


def what_if(farm: Farm, date: dt.date, changes: Changes, wish: Wish | None = None) -> tuple[tuple[str, Round], ...]:
    """Return the rows that `compared` returns."""
    return compared(farm, date, changes, wish).rows


@dataclass(frozen=True)
class Explained:
    """One site, and the checked round in which it has a stop, or is left out with the reason and what would save it."""

    site: str
    round: Round
    again: bool = False
    """Whether the round is the one that was written, which still holds, and was not searched for."""


def explain(farm: Farm, date: dt.date, site: str, wish: Wish | None = None) -> Explained:
    """Return what becomes of a site, by its id or name, in the round of a date. Raises AskedError for no such site."""
    named = site_named(farm, site)
    found = planned(farm, date, wish=wish, timed=True)
    return Explained(named, found.round, found.again)


@dataclass(frozen=True)
class Chance:
    """How likely a planned date holds, crew by crew, and what each should drop when it is behind."""

    round: Round
    odds: Odds
    drops: tuple[tuple[Drop, ...], ...]
    """For each crew of `odds`."""
    spread: Spread
    """How far real days stray from planned ones."""
    again: bool = False
    """As of `Explained`."""


def chance(farm: Farm, date: dt.date, wish: Wish | None = None) -> Chance:
    """Return the chance that each visit and the day is done in time, simulated through on many simulated days."""
    found = planned(farm, date, wish=wish, timed=True)
    return chance_of(farm, found.round, found.legs, again=found.again)


def chance_of(farm: Farm, round_: Round, legs: Legs, *, again: bool = False) -> Chance:
    """Return the chance of a round of the farm, also where a person gave its order; the round must keep every rule."""
    spread = Spread.of(farm)
    simulated = simulate(round_, spread, finish_early_seconds(farm.rules))
    behind = tuple(drops(day, legs, day.itinerary.vehicle) for day in simulated)
    return Chance(round_, odds(simulated), behind, spread, again)
