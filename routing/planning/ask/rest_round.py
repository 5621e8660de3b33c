"""The round of the rest of a day that was looked at in full, as it is shown."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

from routing.farm.models import Farm, Rank
from routing.plain_words import duration
from routing.planning.ask.rest_clash import clashing
from routing.planning.ask.rest_load import AtBase, put_on
from routing.planning.ask.rest_of_day import from_here, hours_of
from routing.planning.ask.rest_parts import Best, Share, best_rest, with_share
from routing.planning.ask.rest_places import may_be_done
from routing.planning.ask.rest_search import Found, look
from routing.planning.explain.infeasible_subset import clash_sentence
from routing.planning.explain.outcome import left_out_entries
from routing.planning.explain.reasons import certain_reasons
from routing.planning.itineraries import build_round
from routing.planning.model.build_instance import build_instance
from routing.planning.model.demands import THOUSAND
from routing.planning.model.instance import Instance
from routing.planning.model.problem import NO_LIMIT, Order, Planned, rank_score, served, widest
from routing.planning.model.timing import timeline
from routing.round import Itinerary, Proof, ReasonCode, Round
from routing.travel.legs import Legs

TOO_MUCH = "The best that was found: there is too much left to look at every order."
LOOKED = (
    "The best that was found: not all was looked at of going back to base for more, or of doing some of a job's hives."
)
PROVEN = (
    "Proven: of all sets of what is left, in every order, this does the most of what matters most, and of these it is "
    "home soonest."
)


@dataclass(frozen=True, eq=False)
class RestPart:
    """The rest of a day, or its part before or after base, with the farm and the drives that it is made from."""

    farm: Farm
    legs: Legs
    instance: Instance
    round: Round


@dataclass(frozen=True, eq=False)
class FromBase:
    """What a return to base in the rest of a day is."""

    legs: Legs
    """With the drives out of base itself."""
    loading: int
    stock: Mapping[str, float]
    """Units of each material that is counted."""

    def at_base(self, instance: Instance) -> AtBase:
        """Return it in the numbers of a problem."""
        drives = build_instance(instance.farm, self.legs, instance.dates).problem.routes[0].drive_seconds[0]
        stock = (self.stock.get(name) for name in instance.materials)
        whole = tuple(NO_LIMIT if amount is None else int(round(amount * THOUSAND, 6)) for amount in stock)
        return AtBase(drives, self.loading, whole)


def rest_rounds(
    farm: Farm,
    legs: Legs,
    date: dt.date,
    base: FromBase | None,
    plan: Sequence[str] = (),
    remedied: int | None = None,
) -> tuple[RestPart, ...] | None:
    """Return the best rest of a day: one round, or two where base is come back to in between.

    `plan` are the jobs as the plan has them in turn. None where there is too much left even for a beam. What is too
    heavy by itself may be done once base has taken off what was brought, and some of the hives of a job that there is
    not enough for. Remedies are sought for the first `remedied` of what is left out, as by `left_out_entries`.
    """
    instance = build_instance(farm, legs, (date,))
    curable = {ReasonCode.TOO_HEAVY, ReasonCode.NO_STOCK}
    certain = {task for task, why in certain_reasons(instance).items() if why.code not in curable}

    def shared(share: Share) -> Instance:
        return build_instance(with_share(farm, instance.jobs[share.task].id, share.hives), legs, (date,))

    at_base = None if base is None else base.at_base(instance)
    tasks = in_turn(instance, plan, certain)
    best = best_rest(instance, tasks, at_base, cache(shared))
    if best is None:
        return None
    done = served((best.found.order, best.found.later)) - ({best.share.task} if best.share is not None else set())
    clash = clash_told(instance, tasks, done, at_base if best.by_base else None)
    if best.share is not None:
        farm = with_share(farm, instance.jobs[best.share.task].id, best.share.hives)
        instance = build_instance(farm, legs, (date,))
    if base is None or at_base is None or not best.found.later:
        first, *later = (part_of_day(farm, legs, instance, best.found.order, _text(best), remedied),)
    else:
        first, *later = _by_base(farm, legs, instance, best, (base, at_base), tasks, remedied)
    return (replace(first, round=first.round.model_copy(update={"clash": clash})), *later)


def in_turn(instance: Instance, plan: Sequence[str], certain: Collection[int]) -> list[int]:
    """Return the tasks that are not certainly left out, those of the plan first and in its order."""
    turn = {id_: number for number, id_ in enumerate(plan)}
    tasks = [task for task in range(len(instance.jobs)) if task not in certain]
    return sorted(tasks, key=lambda task: turn.get(instance.jobs[task].id, len(turn)))


def _by_base(
    farm: Farm,
    legs: Legs,
    instance: Instance,
    best: Best,
    base: tuple[FromBase, AtBase],
    tasks: Sequence[int],
    remedied: int | None,
) -> tuple[RestPart, ...]:
    """Return the round until base and the one from there on."""
    found, (whole, at_base) = best.found, base
    rules, problem = instance.problem.routes[0], instance.problem
    last = problem.visits[found.order[-1].visit].place if found.order else 0
    arrive = found.left_at + int(rules.drive_seconds[last, 0])
    leave = arrive + (rules.break_seconds if found.rested_at_base else 0) + at_base.loading
    first = {instance.jobs[task].id for task in served((found.order,))}
    parts = []
    if found.order:
        before = farm.model_copy(update={"jobs": tuple(job for job in farm.jobs if job.id in first)})
        if found.rested:
            before = _rested_before(before, legs, instance, found)
        inner = build_instance(before, legs, instance.dates)
        parts.append(part_of_day(before, legs, inner, _again(instance, inner, found.order), _text(best), remedied))
    rested = found.rested or found.rested_at_base
    rest = farm.model_copy(update={"jobs": tuple(job for job in farm.jobs if job.id not in first)})
    legs, later = from_here(whole.legs, 0), found.later
    for anew in (True, False):
        left, more = put_on(problem, at_base, sorted(served((found.order,))), sorted(served((later,))))
        aboard = {name: (left[at] + more[at]) / THOUSAND for at, name in enumerate(instance.materials)}
        after = _from_base(rest, instance, leave, aboard, rested=rested)
        inner = build_instance(after, legs, instance.dates)
        if anew:  # with what is on board after loading
            later = _again(inner, instance, _looked_at_anew(instance, inner, later, tasks))
    parts.append(part_of_day(after, legs, inner, _again(instance, inner, later), _text(best), remedied))
    return tuple(parts)


def _looked_at_anew(instance: Instance, inner: Instance, later: Order, tasks: Sequence[int]) -> Order:
    """Return the best trip from base with what is on board then: `later`, or better where the load has more room.

    The search before it held all that the trip brings against the payload as if at once.
    """
    order, problem = _again(instance, inner, later), inner.problem
    number = {job.id: task for task, job in enumerate(inner.jobs)}
    mine = [number[instance.jobs[task].id] for task in tasks if instance.jobs[task].id in number]
    looked = look(problem, may_be_done(problem, mine, None, lambda _: False))
    found, times = None if looked is None else looked.best(), timeline(problem, 0, order)
    if found is None or times is None:
        return order
    stop = None if times.rest is None else times.rest.stop
    dirty = stop is not None and problem.visits[order[stop].visit].last_of_day
    had = (rank_score(problem, served((order,))), not dirty, -times.home)
    return found.order if (tuple(found.score), not found.dirty, -found.home) > had else order


def _from_base(farm: Farm, instance: Instance, leave: int, aboard: Mapping[str, float], *, rested: bool) -> Farm:
    """Return the farm of the trip from base, which is left at a moment with so much on board."""
    (crew,), now, rules = farm.crews, farm.underway, instance.problem.routes[0]
    if now is None:
        raise AssertionError("only a day under way comes back to base")
    at = instance.clock(leave).timetz().replace(tzinfo=None)
    due = max(0, rules.earliest_leave + rules.break_after_seconds - leave)
    tired = {
        "earliest_start": at,
        "break_minutes": 0.0 if rested else crew.break_minutes,
        "break_after_hours": hours_of(due),
    }
    stands = now.model_copy(update={"name": farm.base.name, "place": farm.base.place, "at": at, "brought": {}})
    return farm.model_copy(
        update={"crews": (crew.model_copy(update=tired),), "stock": dict(aboard), "underway": stands}
    )


def _rested_before(farm: Farm, legs: Legs, instance: Instance, found: Found) -> Farm:
    """Return the farm in which the break is due before base is reached without one: then it is taken."""
    (crew,) = farm.crews
    tireless = farm.model_copy(update={"crews": (crew.model_copy(update={"break_minutes": 0.0}),)})
    inner = build_instance(tireless, legs, instance.dates)
    times = timeline(inner.problem, 0, _again(instance, inner, found.order))
    if times is None:
        raise AssertionError("an order with a break has no times without one")
    due = min(instance.problem.routes[0].break_after_seconds, times.away - 1)
    return farm.model_copy(update={"crews": (crew.model_copy(update={"break_after_hours": hours_of(due)}),)})


def _again(old: Instance, new: Instance, order: Order) -> Order:
    """Return an order in another instance of the same day: the same jobs, in windows that hold those that they had.

    Of a site with less work left fewer windows may be told, since one that holds another stands for both.
    """
    tasks = {job.id: task for task, job in enumerate(new.jobs)}
    found = []
    for planned in order:
        here = tuple(sorted(tasks[old.jobs[task].id] for task in planned.tasks))
        was = old.problem.visits[planned.visit]
        visit = next(
            number
            for number in new.problem.visits_for(here)
            if new.problem.visits[number].opens <= was.opens and was.closes <= new.problem.visits[number].closes
        )
        found.append(Planned(visit, here))
    return widest(new.problem, (tuple(found),))[0]


def part_of_day(
    farm: Farm, legs: Legs, instance: Instance, order: Order, text: str, remedied: int | None = None
) -> RestPart:
    """Return an order as a round of the farm, with what it leaves out and the text of its proof."""
    orders, done = (order,), served((order,))
    certain = {task: why for task, why in certain_reasons(instance).items() if task not in done}
    times = timeline(instance.problem, 0, order) if order else None
    proven = text == PROVEN
    proof = Proof(
        optimal=proven,
        text=text,
        rank_bounds=rank_score(instance.problem, done) if proven else (),
        weight_scale=instance.weight_scale,
        away_bound_seconds=times.away if times is not None and proven else 0,
    )
    round_ = build_round(instance, orders, left_out_entries(instance, orders, certain, remedied), proof)
    return RestPart(farm, legs, instance, round_)


def _text(best: Best) -> str:
    if best.exact:
        return PROVEN
    return LOOKED if best.whole else TOO_MUCH


def clash_told(instance: Instance, tasks: Sequence[int], done: frozenset[int], base: AtBase | None) -> str:
    """Return which musts clash, in a sentence; nothing where all their hives are done, or no clash is certain."""
    musts = [task for task in tasks if instance.jobs[task].rank in {Rank.NOW, Rank.MUST}]
    left_out = frozenset(musts) - done
    clash = clashing(instance.problem, musts, left_out, base) if left_out else ()
    return clash_sentence(instance, sorted(clash)) if clash else ""


def told_in_the_field(instance: Instance, round_: Round) -> Round:
    """Return the round with words that are true in a field: of second breaks, and of what is on board."""
    days_of = tuple(_with_caution(instance, day) for day in round_.itineraries)
    left = tuple(
        entry.model_copy(update={"text": entry.text.replace("; in store: ", "; on board: ")})
        for entry in round_.left_out
    )
    counted = instance.farm.underway is not None and instance.farm.underway.counted
    start = round_.start and round_.start.model_copy(update={"counted": counted})
    return round_.model_copy(update={"itineraries": days_of, "left_out": left, "start": start})


def _with_caution(instance: Instance, itinerary: Itinerary) -> Itinerary:
    """Return the day with the caution that a second break is due where one is: the crew's hours count from the first.

    What the route knows is how many of them were left.
    """
    underway = instance.farm.underway
    if underway is None or not underway.break_after_hours:
        return itinerary
    longest = longest_rested(itinerary)
    hours = underway.break_after_hours
    if longest <= hours * 3600:
        return itinerary.model_copy(update={"cautions": ()})
    caution = (
        f"After the break it is {duration(longest)} without another, longer than the {hours:g} h after which a break "
        "is due: take a second one; its minutes are not in these times."
    )
    return itinerary.model_copy(update={"cautions": (caution,)})


def longest_rested(itinerary: Itinerary) -> int:
    """Return the longest that the crew is on the way after its break without a wait as long, 0 where there is none."""
    rest = next((stop.rest for stop in itinerary.stops if stop.rest is not None), None)
    if rest is None:
        return 0
    rested, longest = rest.start.timestamp() + rest.seconds, 0.0
    for stop in itinerary.stops:
        arrive, start = stop.arrive.timestamp(), stop.start.timestamp()
        if arrive <= rest.start.timestamp() < start:
            rested = start
        elif arrive >= rested and start - arrive >= rest.seconds:
            longest, rested = max(longest, arrive - rested), start
    return int(max(longest, itinerary.home.timestamp() - rested))
