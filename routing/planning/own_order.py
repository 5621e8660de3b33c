"""An order that a person gives: which jobs it does, timed as any other, or what it breaks and by how much."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from routing.errors import AskedError
from routing.planning.build import Days
from routing.planning.load import carries, stock_holds
from routing.planning.outcome import left_out_entries
from routing.planning.problem import Order, Planned, served, widest
from routing.planning.reasons import Certain, certain_reasons
from routing.planning.rounds import build_round
from routing.planning.timing import lateness, timeline
from routing.round import Proof, ReasonCode, Round
from routing.words import duration


@dataclass(frozen=True)
class OwnOrder:
    """What became of a given order: the round it makes, or why it makes none."""

    lines: tuple[str, ...]
    """In words, a sentence each."""
    round: Round | None


def own_order(days: Days, crew: str, sites: Sequence[str]) -> OwnOrder:
    """Return the round of one date in which one crew visits these sites in this order, all other crews staying home.

    At each site every due job that can be done in one visit is done; hives are moved where the order says
    `site:site`. Raises AskedError for a crew that is not out or a site that is unknown, named twice or without work.
    """
    route = next((number for number, one in enumerate(days.crews) if one.id == crew), None)
    if route is None:
        raise AskedError(f'crew "{crew}" is not out on {days.date.isoformat()}; out are: {_names(days)}')
    order = widest(days.problem, (tuple(_stop(days, route, site) for site in sites),))[0]
    if len(set(sites)) < len(sites):
        raise AskedError("each site can be named once")
    broken = _broken(days, route, order)
    if broken:
        return OwnOrder(tuple(broken), None)
    orders = tuple(order if number == route else () for number in range(len(days.crews)))
    proof = Proof(optimal=False, text="The order is the one that was given; no better one was sought.")
    certain = certain_reasons(days)
    rest = frozenset(range(len(days.jobs))) - served(orders) - certain.keys()
    reasons = certain | dict.fromkeys(rest, Certain(ReasonCode.NOT_ASKED, "left out of the order that was given"))
    entries = left_out_entries(days, orders, reasons, remedied=0)
    return OwnOrder(("This order keeps every rule.",), build_round(days, orders, entries, proof, given_order=True))


def _names(days: Days) -> str:
    return ", ".join(sorted({crew.id for crew in days.crews})) or "none"


def _stop(days: Days, route: int, site: str) -> Planned:
    known = {one.id for one in days.farm.sites}
    cuts = [(site[:at], site[at + 1 :]) for at, letter in enumerate(site) if letter == ":" and site not in known]
    ends = next((cut for cut in cuts if set(cut) <= known), (site, ""))
    if ends[0] not in known:
        raise AskedError(f'site "{site}" is not in sites.csv')
    allowed = days.problem.routes[route].allowed
    choices = [
        Planned(number, tuple(task for task in visit.tasks if allowed[task]))
        for number, visit in enumerate(days.problem.visits)
        if all((days.jobs[task].site, days.jobs[task].to) == ends for task in visit.tasks)
    ]
    able = [choice for choice in choices if choice.tasks]
    moves = [f"{job.site}:{job.to}" for job in days.jobs if job.to and job.site == site]
    if not able and moves:
        raise AskedError(f'at site "{site}" there are only hives to move: write "{moves[0]}" in the order')
    if not able:
        raise AskedError(f'site "{site}" has no job that this crew could do on {days.date.isoformat()}')
    return max(able, key=lambda choice: len(choice.tasks))


def _broken(days: Days, route: int, order: Order) -> list[str]:
    """Return what the order breaks, a sentence each."""
    problem, found = days.problem, []
    lasts = [problem.visits[planned.visit].last_of_day for planned in order]
    if lasts != sorted(lasts):
        found.append("A site that must be last of the day has another after it.")
    if not stock_holds(problem, served((order,))):
        found.append("The stock at base does not serve it all.")
    late = lateness(problem, route, order)
    if late is None:
        found.append("There is no way between two of these places.")
    elif timeline(problem, route, order) is None:
        for seconds, what in ((late.light, "working light"), (late.hours, "opening hours"), (late.home, "home by")):
            if seconds:
                found.append(f"It passes {what} by {duration(seconds)}.")
    if not carries(problem, route, order):
        found.append("It is over payload or space.")
    return found
