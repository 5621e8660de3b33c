"""An order that a person gives: which jobs it does, timed as any other, or what it breaks and by how much."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from routing.errors import AskedError
from routing.farm.models import BASE
from routing.planning.ask.own_choice import Named, best_choice
from routing.planning.ask.own_words import what_breaks
from routing.planning.explain.outcome import left_out_entries
from routing.planning.explain.reasons import Certain, certain_reason, certain_reasons
from routing.planning.itineraries import build_round
from routing.planning.model.instance import Instance
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Order, served, widest
from routing.round import Proof, ReasonCode, Round


@dataclass(frozen=True)
class OwnOrder:
    """What became of a given order: the round it makes, or why it makes none."""

    lines: tuple[str, ...]
    """In words, a sentence each."""
    round: Round | None


def own_order(instance: Instance, crew: str | None, sites: Sequence[str]) -> OwnOrder:
    """Return the round of one date in which one crew visits these sites in this order, all other crews staying home.

    Without a crew, the first that is out and can keep the order makes it, or else the first that is out. At each site
    all is done that can be, and so much of it as the order holds, in those of the site's hours that suit it; hives are
    moved where the order says `site:site`. A site named twice is stopped at twice; `base` may be named and is come back
    to where the load asks for it. Raises AskedError for a crew that is not out or a site that is unknown or has no work
    for so many stops.
    """
    routes = [number for number, one in enumerate(instance.crews) if crew in {None, one.id}]
    if not routes and crew is None:
        raise AskedError(f"no crew is out on {instance.date.isoformat()}")
    if not routes:
        raise AskedError(f'crew "{crew}" is not out on {instance.date.isoformat()}; out are: {_names(instance)}')
    named = [site for site in sites if site != BASE]
    if not named:
        raise AskedError("name one site at least")
    order_costs = OrderCosts(instance.problem)
    refused: list[AskedError] = []
    broken: list[OwnOrder] = []
    for route in routes:
        try:
            stops = _stops(instance, route, named)
        except AskedError as error:
            refused.append(error)
            continue
        order = best_choice(order_costs, route, stops)
        if order is not None:
            return _kept(instance, route, widest(instance.problem, (order,))[0], stops)
        broken.append(OwnOrder(tuple(what_breaks(instance, route, stops)), None))
    if not broken:
        raise refused[0]
    return broken[0]


def _kept(instance: Instance, route: int, order: Order, stops: Sequence[Named]) -> OwnOrder:
    """Return the round of an order that keeps every rule."""
    orders = tuple(order if number == route else () for number in range(len(instance.crews)))
    proof = Proof(
        optimal=False,
        text="The order is the one that was given; no better one was sought.",
        weight_scale=instance.weight_scale,
    )
    certain = certain_reasons(instance)
    asked = frozenset(task for stop in stops for task in stop.tasks) - served(orders)
    rest = frozenset(range(len(instance.jobs))) - served(orders) - certain.keys()
    words = {True: "at a site of your order, which does not hold it as well", False: "left out of the order"}
    reasons = certain | {task: Certain(ReasonCode.NOT_ASKED, words[task in asked]) for task in rest}
    entries = left_out_entries(instance, orders, reasons, remedied=0)
    lines = ["This order keeps every rule."]
    lines += [
        f"It does not hold {instance.farm.job_kinds[instance.jobs[task].kind].name} at "
        f"{instance.farm.site(instance.jobs[task].site).name} as well."
        for task in sorted(asked - certain.keys())
    ]
    return OwnOrder(tuple(lines), build_round(instance, orders, entries, proof, given_order=True))


def _names(instance: Instance) -> str:
    return ", ".join(sorted({crew.id for crew in instance.crews})) or "none"


def _stops(instance: Instance, route: int, sites: Sequence[str]) -> list[Named]:
    stops = [Named(_tasks(instance, route, site)) for site in sites]
    for site, stop in zip(sites, stops, strict=True):
        if sites.count(site) > len(stop.tasks):
            raise AskedError(f'site "{site}" is named more often than it has jobs that this crew could do')
    return stops


def _tasks(instance: Instance, route: int, site: str) -> frozenset[int]:
    """Return the tasks that a named stop may do."""
    known = {one.id for one in instance.farm.sites}
    cuts = [(site[:at], site[at + 1 :]) for at, letter in enumerate(site) if letter == ":" and site not in known]
    ends = next((cut for cut in cuts if set(cut) <= known), (site, ""))
    if ends[0] not in known:
        raise AskedError(f'site "{site}" is not in {instance.farm.tables.sites}')
    rules = instance.problem.routes[route]
    here = [task for task, job in enumerate(instance.jobs) if (job.site, job.to) == ends]
    able = frozenset(
        task
        for visit in instance.problem.visits
        for task in visit.tasks
        if visit.day == rules.day and task in here and rules.allowed[task]
    )
    if able:
        return able
    moves = [f"{job.site}:{job.to}" for job in instance.jobs if job.to and job.site == site]
    if moves and not here:
        raise AskedError(f'at site "{site}" there are only hives to move: write "{moves[0]}" in the order')
    why = next((reason.text for task in here if (reason := certain_reason(instance, task)) is not None), "")
    words = f'site "{site}" has no job that this crew could do on {instance.date.isoformat()}'
    raise AskedError(f"{words}: {why}" if why else words)
