"""Of orders that are hardly longer than the shortest round, the one by which most surely all is done in time.

The stops of each crew-day are only put into another order: one stop elsewhere, two exchanged, a stretch turned round.
Every such order is timed with its windows, loads, breaks and returns as any other, and may be away for at most two in
a hundred longer. Those that pass are lived through on a few hundred days, the same for all (common random numbers), and
the best step is taken until none is better. What comes of it is taken only where the 10,000 days that every plan is
told by show a gain that chance alone would hardly give. No clock decides, so the same farm gives the same order.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from routing.farm.models import Rank
from routing.plain_words import chance_words, minutes_words
from routing.planning.chance.simulate import SEED, Seconds, days_held, musts_held, simulate
from routing.planning.chance.spread import Spread
from routing.planning.itineraries import build_round
from routing.planning.model.instance import Instance
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Order, Orders, Planned, Problem, served
from routing.planning.model.timing import Timeline, timeline
from routing.planning.running.time_limit import over
from routing.planning.search.insertion import fill
from routing.round import Proof, SurestOrder
from routing.weather.limits import finish_early_seconds

LONGER = 0.02
"""Share of a crew-day's time away that a surer order may cost; a choice of ours, no source."""
TRIAL_DAYS = 400
MOST_TIMED = 2400
"""Orders that are timed, over all crew-days together: about a second's work."""
LEAST_GAIN = 0.02
"""Of two chances from 10,000 days each, 0.007 is the most standard error of the difference: this is nearly three."""
WHOLE_SHARE = 0.1
"""What the chance of the whole day counts beside that of the musts while orders are compared."""
MOST_STOPS = 120
"""A round of more stops is left as it is: living through it takes longer than it gains."""


def surer(
    instance: Instance, orders: Orders, candidates: frozenset[int], *, proven: bool
) -> tuple[Orders, SurestOrder | None]:
    """Return orders of the same stops that hold more surely, and what they cost; those given where none are known.

    `proven` is whether the given ones are proved to be away for the least, which only the words need.
    """
    problem = instance.problem
    if problem.distance_first or not 1 < sum(map(len, orders)) <= MOST_STOPS:
        return orders, None
    spread, order_costs = Spread.of(instance.farm), OrderCosts(problem)
    each = MOST_TIMED // sum(len(order) > 1 for order in orders) if any(len(order) > 1 for order in orders) else 0
    early = finish_early_seconds(instance.farm.rules)
    changed = tuple(
        _Trial(order_costs, route, order, spread, early).climbed(each) if len(order) > 1 else order
        for route, order in enumerate(orders)
    )
    if changed == orders or served(fill(order_costs, changed, candidates)) != served(orders):
        return orders, None  # a gap that holds one job more is the business of the search, and not of this
    told = _compared(instance, orders, changed, proven=proven)
    return (orders, None) if told is None else (changed, told)


def _compared(instance: Instance, before: Orders, after: Orders, *, proven: bool) -> SurestOrder | None:
    """Return what the new orders cost and gain on the days that plans are told by; None where that is not enough."""
    (musts, whole), (new_musts, new_whole) = (_held(instance, orders) for orders in (before, after))
    gain = new_whole - whole if musts is None or new_musts is None else new_musts - musts
    if gain < LEAST_GAIN and not (gain >= 0 and new_whole - whole >= LEAST_GAIN):
        return None
    order_costs = OrderCosts(instance.problem)
    away = [sum(cost.main for r, o in enumerate(each) if (cost := order_costs.cost(r, o))) for each in (before, after)]
    extra = away[1] - away[0]
    surest = SurestOrder(
        extra_seconds=extra,
        musts_before=musts,
        musts_after=new_musts,
        whole_before=whole,
        whole_after=new_whole,
        text="",
    )
    return surest.model_copy(update={"text": _text(surest, proven=proven)})


def _text(found: SurestOrder, *, proven: bool) -> str:
    shortest = "the shortest round of the same jobs" if proven else "the shortest round that was found"
    minutes = round(abs(found.extra_seconds) / 60)
    if not found.extra_seconds:
        price = f"This order is as long as {shortest}"
    else:
        by = minutes_words(minutes) if minutes else "less than a minute"
        price = f"This order is {by} {'longer' if found.extra_seconds > 0 else 'shorter'} than {shortest}"
    gains = []
    if found.musts_before is not None and found.musts_after is not None:
        gains.append(f"what must be done is done in time on {_instead(found.musts_before, found.musts_after)}")
    gains.append(f"everything holds on {_instead(found.whole_before, found.whole_after)}")
    return f"{price}; on simulated days {', and '.join(gains)}."


def _instead(before: float, after: float) -> str:
    old, new = chance_words(before), chance_words(after)
    return f"{new} either way" if old == new else f"{new} instead of {old}"


def _held(instance: Instance, orders: Orders) -> tuple[float | None, float]:
    """Return the chances of the musts and of the whole as the plan would tell them."""
    round_ = build_round(instance, orders, (), Proof(optimal=False, text=""))
    simulated = simulate(round_, Spread.of(instance.farm), finish_early_seconds(instance.farm.rules))
    musts = musts_held(simulated)
    return None if musts is None else float(musts.mean()), float(days_held(simulated).mean())


@dataclass(frozen=True)
class _Dice:
    """What happens on the trial days: factors, shape (days,) each, the same whatever the order."""

    work: dict[Planned, Seconds]
    drive: dict[Planned | None, Seconds]
    """To each stop, and home."""

    @classmethod
    def cast(cls, problem: Problem, order: Order, spread: Spread) -> _Dice:
        dice = np.random.default_rng(SEED)

        def drawn(sd: float) -> Seconds:
            return dice.normal(0, sd, TRIAL_DAYS)

        day_work, day_drive = drawn(spread.day_work.value), drawn(spread.day_drive.value)
        places = {place: drawn(spread.site.value) for place in sorted({problem.visits[p.visit].place for p in order})}
        stops = sorted(order)
        work = {p: np.exp(day_work + places[problem.visits[p.visit].place] + drawn(spread.visit.value)) for p in stops}
        return cls(work, {p: np.exp(day_drive + drawn(spread.drive.value)) for p in (*stops, None)})


class _Trial:
    """One crew-day and the orders of its stops that are tried."""

    def __init__(self, order_costs: OrderCosts, route: int, order: Order, spread: Spread, early: int) -> None:
        self.order_costs, self.route, self.order, self.early = order_costs, route, order, early
        self.dice = _Dice.cast(order_costs.problem, order, spread)
        cost = order_costs.cost(route, order)
        self.limit = 0.0 if cost is None else cost.main * (1 + LONGER)

    def climbed(self, most: int) -> Order:
        """Return the best order that steps come to, each the best of all single changes, within so many timed."""
        best, score, left = self.order, self.score(self.order), most
        while left > 0:
            step: tuple[float, Order] | None = None
            for order in _changes(best):
                left -= 1
                if left < 0 or over():
                    left = 0
                    break
                cost = self.order_costs.cost(self.route, order)
                if cost is None or cost.main > self.limit:
                    continue
                tried = self.score(order)
                if tried > (score if step is None else step[0]):
                    step = tried, order
            if step is None:
                break
            score, best = step
        return best

    def score(self, order: Order) -> float:
        """Return the share of trial days on which the musts hold, and a little for those on which all does."""
        problem, route = self.order_costs.problem, self.order_costs.problem.routes[self.route]
        times = timeline(problem, self.route, order)
        if times is None:
            return -1.0
        seconds, here = problem.legs[self.route][0], 0
        fixed = [0] * (len(order) + 1)
        backs = {one.before for one in times.returns}
        for back in backs:
            fixed[back] += route.reload_seconds
        if times.rest is not None:
            fixed[_gap(times)] += times.rest.seconds
        now: Seconds = np.full(TRIAL_DAYS, float(times.leave))
        musts = whole = np.ones(TRIAL_DAYS, dtype=bool)
        for index, planned in enumerate(order):
            visit = problem.visits[planned.visit]
            drive = seconds[here][0] + seconds[0][visit.place] if index in backs else seconds[here][visit.place]
            work = problem.on_site_seconds(self.route, planned)
            now = np.maximum(now + drive * self.dice.drive[planned] + fixed[index], visit.opens)
            now = now + work * self.dice.work[planned]
            kept = now <= visit.closes + self.early
            whole = whole & kept
            if any(problem.tasks[task].rank <= _MUST for task in planned.tasks):
                musts = musts & kept
            here = visit.place
        home = now + seconds[here][0] * self.dice.drive[None] + fixed[-1]
        whole = whole & (home <= route.home_by + self.early)
        return float(musts.mean() + WHOLE_SHARE * whole.mean())


_MUST = list(Rank).index(Rank.MUST)


def _gap(times: Timeline) -> int:
    """Return the stop before whose work the break lies, the number of stops where it lies after the last."""
    rest = times.rest
    if rest is None or (rest.stop is None and rest.back is None):
        raise AssertionError("only a day with a break at a stop or at base has its gap")
    if rest.back is not None:
        return times.returns[rest.back].before
    stop = rest.stop or 0
    return stop if rest.start < times.starts[stop] else stop + 1


def _changes(order: Order) -> Iterator[Order]:
    """Yield each order that differs by one stop elsewhere, two stops exchanged or a stretch turned round."""
    for first, last in combinations(range(len(order)), 2):
        yield (*order[:first], *order[first : last + 1][::-1], *order[last + 1 :])
        yield (*order[:first], *order[first + 1 : last + 1], order[first], *order[last + 1 :])
        if last > first + 1:
            yield (*order[:first], order[last], *order[first:last], *order[last + 1 :])
            yield (*order[:first], order[last], *order[first + 1 : last], order[first], *order[last + 1 :])
