"""The round of the rest of a day that was looked at in full, as it is shown."""

from __future__ import annotations

from routing.farm.models import Rank
from routing.plain_words import duration
from routing.planning.ask.rest_search import best_rest
from routing.planning.explain.infeasible_subset import clash_words
from routing.planning.explain.outcome import left_out_entries
from routing.planning.explain.reasons import certain_reasons
from routing.planning.itineraries import build_round
from routing.planning.model.instance import Instance
from routing.planning.model.problem import rank_score, served
from routing.round import Itinerary, Proof, ReasonCode, Round

PROVEN = (
    "Proven: of all sets of what is left, in every order, this does the most of what matters most, and of these it is "
    "home soonest."
)


def rest_round(instance: Instance) -> Round | None:
    """Return the best rest of a day, None where there is too much left to look at in full.

    What is too heavy by itself may be done once other work has made room on the vehicle.
    """
    certain = {task: why for task, why in certain_reasons(instance).items() if why.code is not ReasonCode.TOO_HEAVY}
    candidates = frozenset(range(len(instance.jobs))) - certain.keys()
    found = best_rest(instance.problem, candidates)
    if found is None:
        return None
    orders = (found.order,)
    done = served(orders)
    proof = Proof(
        optimal=True,
        text=PROVEN,
        rank_bounds=rank_score(instance.problem, done),
        weight_scale=instance.weight_scale,
        away_bound_seconds=found.home - instance.problem.routes[0].earliest_leave if found.order else 0,
    )
    musts = frozenset(task for task in candidates if instance.jobs[task].rank in {Rank.NOW, Rank.MUST})
    clash = "" if musts <= done else clash_words(instance, musts)
    return build_round(instance, orders, left_out_entries(instance, orders, certain), proof).model_copy(
        update={"clash": clash}
    )


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
