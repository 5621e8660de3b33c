"""A hybrid genetic search: whole routes of two orders are put together, and PyVRP's local search makes them good.

Orders that keep every limit and those that break some are bred apart, and what is like others makes way first. A day
so brief that it needs no break is a kind of day of its own; how many of them there are is bred too. Cannot hold: whole
packs, stock over all crews, the break's place in the day. Tasks are optional with prizes, which only approximate ranks.
Source: T. Vidal, "Hybrid genetic search for the CVRP: open-source implementation and SWAP* neighborhood", Computers &
Operations Research 140 (2022), from memory, not checked. Ours: the routes kept of one parent lie round one client, and
some steps of an iterated local search follow the first.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pyvrp
from numpy.typing import NDArray
from pyvrp.PenaltyManager import PenaltyManager, PenaltyParams
from pyvrp.search import (
    OPERATORS,
    LocalSearch,
    NeighbourhoodParams,
    PerturbationManager,
    PerturbationParams,
    compute_neighbours,
)

from routing.planning.heuristics.pyvrp_model import (
    BASE,
    MOST_SECONDS,
    activities,
    clients_in,
    in_turn,
    model,
    stops_in,
    stops_of,
)
from routing.planning.model.engine import Ask, Telling, empty
from routing.planning.model.frame import NO_WAY, Frame, Noted, lay
from routing.planning.model.problem import Orders

FEWEST, MOST_MORE = 14, 14
"""Orders kept in each of the two populations, and how many more may come before they are chosen from."""

FIRST = 14
"""Orders that a population begins with."""

CLOSEST = 4
"""How like others an order is, is measured by so many of those most like it."""

ELITE = 4
"""So many of the least cost are kept whatever they are like."""

LEAST_APART = 0.05
"""Parents differ in at least this share of their stops, if such are found in PAIRINGS draws."""

PAIRINGS = 5
STEPS = 10
"""Of an iterated local search, after each crossing; with none or 40, rounds of 150 to 400 end no better."""

MENDED = 0.8
"""Chance that what breaks a limit is searched once more with STERNER penalties."""

STERNER = 12.0
BRIEFER = 0.2
"""Chance that the number of brief days changes by one."""

FIRST_BRIEF = 0.5
"""Chance that a random order has a brief day."""

MOST_MODELS = 200
"""Models with this or that many brief days that are kept."""

WITHOUT_GAIN = 3000
"""Crossings without a better order after which the population begins anew."""

HEARING = 10
"""Crossings between two looks at what is known elsewhere."""

NEIGHBOURS = 20
MOST_PERTURBED = 5
ITERATIONS_A_CROSSING = 20
"""Of what other engines call one, in time."""

LOAD_PENALTY, TIME_PENALTY = 0.5, 3.0
"""At the beginning, for a gram or millilitre and for a second too many."""

PENALTIES = PenaltyParams(
    solutions_between_updates=40, target_feasible=0.4, penalty_increase=1.25, penalty_decrease=0.85
)

Genes = tuple[tuple[int, tuple[int, ...]], ...]
"""Routes: the kind, and the clients with BASE between them where it is come back to."""

Brief = tuple[int, ...]
"""How many days of each kind are to be brief."""


@dataclass(eq=False)
class HybridGenetic:
    """The engine."""

    name: str = field(default="genetic")

    def __call__(self, ask: Ask) -> Orders:
        """Return the best orders found, from random ones and from the start where there is one."""
        frame = lay(ask.problem, ask.tasks)
        if not frame.clients or not frame.kinds:
            return empty(ask.problem)
        return _Run(frame, ask).orders()


@dataclass(eq=False)
class Member:
    """One of a population."""

    solution: pyvrp.Solution
    genes: Genes
    brief: Brief
    next: NDArray[np.int64]
    """What follows each client: another, LAST_OF_ALL, or NOT_SERVED."""
    apart: dict[Member, float] = field(default_factory=dict)
    """In what share of the clients another differs, for those that it was measured of."""

    def differs(self, other: Member) -> float:
        """Return in what share of the clients the two differ in what follows."""
        if other not in self.apart:
            self.apart[other] = other.apart[self] = float(np.mean(self.next != other.next))
        return self.apart[other]


LAST_OF_ALL, NOT_SERVED = -1, -2


def following(genes: Genes, clients: int) -> NDArray[np.int64]:
    """Return what follows each client, shape (clients,)."""
    found = np.full(clients, NOT_SERVED, dtype=np.int64)
    for _, stops in genes:
        sequence = clients_in(stops)
        found[sequence] = [*sequence[1:], LAST_OF_ALL]
    return found


def survivors(members: Sequence[Member], costs: Sequence[float], many: int) -> list[Member]:
    """Return so many, in their order; what is the same as another goes first, then what costs much and is like others.

    The cheapest always stays. `costs` has one number a member.
    """
    differ = np.array([[np.inf if one is other else one.differs(other) for other in members] for one in members])
    left = np.arange(len(members))
    while len(left) > many:
        nearest = np.sort(differ[np.ix_(left, left)], axis=1)[:, :CLOSEST]
        by_cost, by_likeness = _places(np.asarray(costs)[left]), _places(-nearest.mean(axis=1))
        unfit = by_cost + (1 - ELITE / len(left)) * by_likeness + len(left) * 2 * (nearest[:, 0] == 0)
        unfit[by_cost == 0] = -1
        left = np.delete(left, np.argmax(unfit))
    return [members[number] for number in left.tolist()]


def _places(values: NDArray[Any]) -> NDArray[np.int64]:
    """Return which place each value has, the least the first, 0."""
    return np.argsort(np.argsort(values, kind="stable"))


def crossed(
    one: Genes,
    other: Genes,
    near: Sequence[int],
    many: int,
    room: Sequence[int],
    group: Sequence[int],
    able: Sequence[frozenset[int]],
) -> Genes:
    """Return `many` routes of one parent, those that serve the clients which come first in `near`, and what then fits.

    Of the other parent come the routes that lose the least to them, without what is already served. `room` is how many
    routes of each kind there may be, and `able` what clients those may serve; where there is no more room, another kind
    that may serve them takes the route. Of clients of one `group` one is served.
    """
    route_of = {client: number for number, (_, stops) in enumerate(one) for client in clients_in(stops)}
    kept = list(dict.fromkeys(route_of[client] for client in near if client in route_of))[:many]
    found = [one[number] for number in kept]
    taken = {group[client] for _, stops in found for client in clients_in(stops)}
    left = list(room)
    for kind, _ in found:
        left[kind] -= 1
    rest = [(len(stops), kind, _without(stops, taken, group)) for kind, stops in other]
    for _, own, stops in sorted(rest, key=lambda each: len(each[2]) / each[0], reverse=True):
        kinds = (kind for kind in (own, *range(len(left))) if left[kind] > 0 and able[kind].issuperset(stops))
        taking = next(kinds, None) if stops else None
        if taking is not None:
            left[taking] -= 1
            found.append((taking, stops))
    return tuple(found)


def _without(stops: Iterable[int], taken: set[int], group: Sequence[int]) -> tuple[int, ...]:
    """Return the stops that are not taken, BASE only between two of them."""
    found: list[int] = []
    for stop in stops:
        if stop == BASE:
            if found and found[-1] != BASE:
                found.append(BASE)
        elif group[stop] not in taken:
            found.append(stop)
    return tuple(found[:-1] if found and found[-1] == BASE else found)


@dataclass(frozen=True)
class Model:
    """The problem with so many brief days."""

    data: pyvrp.ProblemData
    search: LocalSearch
    types: tuple[tuple[int, bool], ...]
    """The kind of each vehicle type, and whether it is the brief one."""


class Models:
    """Makes them when they are asked for."""

    def __init__(self, frame: Frame, *, scarce: bool, seed: int) -> None:
        self._frame = frame
        self.rng = pyvrp.RandomNumberGenerator(seed=seed)
        """Of all searches."""
        self.plain = model(frame, scarce=scarce)
        self._neighbours = compute_neighbours(self.plain, NeighbourhoodParams(num_neighbours=NEIGHBOURS))
        self._made: dict[Brief, Model] = {}
        counted = not (scarce or frame.problem.distance_first)  # else a break costs nothing
        self.most: Brief = tuple(len(kind.routes) if counted and kind.rest > 0 else 0 for kind in frame.kinds)
        """The most brief days of each kind."""

    def of(self, brief: Brief) -> Model:
        """Return the model with so many brief days."""
        if brief not in self._made:
            if len(self._made) >= MOST_MODELS:
                self._made.clear()
            self._made[brief] = self._make(brief)
        return self._made[brief]

    def _make(self, brief: Brief) -> Model:
        types, vehicles = [], []
        for number, (kind, plain) in enumerate(zip(self._frame.kinds, self.plain.vehicle_types(), strict=True)):
            if brief[number] < len(kind.routes):
                rest = kind.rest if self.most[number] else 0
                vehicles.append(plain.replace(num_available=len(kind.routes) - brief[number], fixed_cost=rest))
                types.append((number, False))
            if brief[number]:
                vehicles.append(self._brief(number, plain).replace(num_available=brief[number]))
                types.append((number, True))
        data = self.plain.replace(vehicle_types=vehicles)
        perturbation = PerturbationManager(PerturbationParams(1, MOST_PERTURBED))
        search = LocalSearch(data, self.rng, self._neighbours, perturbation)
        for operator in OPERATORS:
            if operator.supports(data):
                search.add_operator(operator(data))
        return Model(data, search, tuple(types))

    def _brief(self, number: int, plain: pyvrp.VehicleType) -> pyvrp.VehicleType:
        """Return the kind of day that may last no longer than what needs no break."""
        kind, problem = self._frame.kinds[number], self._frame.problem
        rules = [problem.routes[route] for route in kind.routes]
        longest = min(
            rule.break_after_seconds + (rule.reload_seconds if problem.returns[route] else 0)
            for route, rule in zip(kind.routes, rules, strict=True)
        )
        whole = plain.shift_duration
        return plain.replace(
            tw_early=plain.tw_early - kind.rest,
            shift_duration=longest if whole >= MOST_SECONDS else min(longest, whole + kind.rest),
        )

    def solution(self, genes: Genes, brief: Brief) -> pyvrp.Solution:
        """Return genes as a solution in which the shortest days of each kind are the brief ones."""
        made = self.of(brief)
        index = {each: number for number, each in enumerate(made.types)}
        routes = []
        for number in range(len(self._frame.kinds)):
            own = [activities(stops) for kind, stops in genes if kind == number]
            short, whole = index.get((number, True)), index.get((number, False))
            only = whole if short is None else short if whole is None else None
            if only is not None:
                routes += [pyvrp.Route(made.data, each, only) for each in own]
            if short is None or whole is None:
                continue
            built = sorted(
                ((pyvrp.Route(made.data, each, short), each) for each in own), key=lambda pair: _length(pair[0])
            )
            many = sum(not route.has_time_warp() for route, _ in built[: brief[number]])
            many = max(many, len(own) - (len(self._frame.kinds[number].routes) - brief[number]))
            routes += [route for route, _ in built[:many]]
            routes += [pyvrp.Route(made.data, each, whole) for _, each in built[many:]]
        return pyvrp.Solution(made.data, routes)

    def briefest(self, genes: Genes, many: int) -> Brief:
        """Return of which kinds the shortest days are, so many, among those that otherwise need a break.

        Where there are fewer routes, days on which nobody goes may be brief too.
        """
        built = [
            (_length(pyvrp.Route(self.plain, activities(stops), kind)), kind)
            for kind, stops in genes
            if self.most[kind]
        ]
        shortest = [kind for _, kind in sorted(built)[:many]]
        at_home = [
            kind for kind, most in enumerate(self.most) for _ in range(most - sum(own == kind for _, own in built))
        ]
        brief = shortest + at_home[: many - len(shortest)]
        return tuple(brief.count(kind) for kind in range(len(self.most)))

    def brief_of(self, genes: Genes) -> Brief:
        """Return how many days of each kind are brief enough to need no break."""
        made = self.of(tuple(min(1, most) for most in self.most))
        found = [0] * len(self.most)
        for number, (kind, brief) in enumerate(made.types):
            own = (stops for each, stops in genes if each == kind) if brief else ()
            found[kind] += sum(not pyvrp.Route(made.data, activities(stops), number).has_time_warp() for stops in own)
        return tuple(found)

    def genes(self, solution: pyvrp.Solution, brief: Brief) -> Genes:
        """Return a solution with so many brief days as genes."""
        types = self.of(brief).types
        return tuple((types[route.vehicle_type()][0], stops_in(route)) for route in solution.routes())


def _length(route: pyvrp.Route) -> int:
    return route.duration() + route.time_warp()


class _Run:
    """One run under way."""

    def __init__(self, frame: Frame, ask: Ask) -> None:
        self._frame, self._ask = frame, ask
        self._dice = random.Random(ask.limit.seed)  # noqa: S311 - nothing secret
        self._models = Models(frame, scarce=ask.scarce, seed=ask.limit.seed)
        dimensions = self._models.plain.num_load_dimensions
        self._penalties = PenaltyManager(([LOAD_PENALTY] * dimensions, TIME_PENALTY, 1.0), PENALTIES)
        self._near = frame.near()
        self._group = [client.task for client in frame.clients]
        self._room = [len(kind.routes) for kind in frame.kinds]
        ways = [frame.profiles[kind.profile][0, 1:] < NO_WAY for kind in frame.kinds]
        self._able = [
            frozenset(np.flatnonzero(way).tolist()) | ({BASE} if kind.trips > 1 else set())
            for kind, way in zip(frame.kinds, ways, strict=True)
        ]
        self._possible: list[Member] = []
        self._broken: list[Member] = []
        self._best: Member | None = None
        self._best_cost = 0
        self._crossings = self._last_gain = 0
        self._noted = Noted(frame)
        self._telling = Telling(ask.better)
        self._told: Member | None = None
        self._heard: Orders | None = None

    def orders(self) -> Orders:
        """Run to the limit and return the best orders."""
        try:
            if self._ask.start is not None:
                self._take_in(self._ask.start)
            self._begin()
            while not self._over():
                self._cross()
                if self._crossings % HEARING == 0:
                    self._hear()
                if self._crossings - self._last_gain >= WITHOUT_GAIN:
                    self._possible.clear()
                    self._broken.clear()
                    self._begin()
            for member in (*self._possible, self._best):
                if member is not None:
                    self._note(member)
        finally:
            self._noted.tell(self._ask.found)
        return empty(self._ask.problem) if self._best is None else self._orders(self._best)

    def _hear(self) -> None:
        """Take in what is known elsewhere, if it is news."""
        orders = None if self._ask.elsewhere is None else self._ask.elsewhere()
        if orders is not None and orders is not self._heard:
            self._heard = orders
            self._take_in(orders)

    def _take_in(self, orders: Orders) -> None:
        stops = [stops_of(self._frame, number, order) for number, order in enumerate(orders)]
        genes = tuple((self._frame.kind_of[number], each) for number, each in enumerate(stops) if each)
        brief = self._models.brief_of(genes)
        self._take(self._models.solution(genes, brief), brief)

    def _over(self) -> bool:
        return self._ask.limit.over(self._crossings * ITERATIONS_A_CROSSING)

    def _begin(self) -> None:
        """Make a population from random orders."""
        self._last_gain = self._crossings
        for _ in range(FIRST):
            if self._over():
                break
            self._crossings += 1
            brief = self._some_brief()
            made = self._models.of(brief)
            random_one = pyvrp.Solution.make_random(made.data, self._models.rng)
            self._take(made.search(random_one, self._penalties.cost_evaluator(), exhaustive=True), brief)

    def _some_brief(self) -> Brief:
        """Return one brief day of any kind, or none."""
        brief = [0] * len(self._models.most)
        kinds = [number for number, most in enumerate(self._models.most) if most]
        if kinds and self._dice.random() < FIRST_BRIEF:
            brief[self._dice.choice(kinds)] = 1
        return tuple(brief)

    def _cross(self) -> None:
        """Cross two members and take what comes of them into the population."""
        self._crossings += 1
        evaluator = self._penalties.cost_evaluator()
        one, other = self._pair(evaluator)
        near = self._near[self._dice.randrange(len(self._near))].tolist()
        many = self._dice.randint(1, max(1, len(one.genes) - 1))
        genes = crossed(one.genes, other.genes, near, many, self._room, self._group, self._able)
        brief = self._models.briefest(genes, self._bred(sum(self._dice.choice((one, other)).brief)))
        made = self._models.of(brief)
        child = made.search(self._models.solution(genes, brief), evaluator, exhaustive=True)
        cost = evaluator.penalised_cost(child)
        for _ in range(STEPS):
            step = made.search(child, evaluator, exhaustive=False)
            cost_of_step = evaluator.penalised_cost(step)
            if cost_of_step <= cost:
                child, cost = step, cost_of_step
        self._take(child, brief)

    def _bred(self, brief: int) -> int:
        """Return how many days are to be brief, at times one more or less."""
        if self._dice.random() >= BRIEFER:
            return brief
        return min(sum(self._models.most), max(0, brief + self._dice.choice((-1, 1))))

    def _pair(self, evaluator: pyvrp.CostEvaluator) -> tuple[Member, Member]:
        """Return two members, each the cheaper of two drawn; they differ where such are found soon."""
        members = [*self._possible, *self._broken]

        def drawn() -> Member:
            two = self._dice.choice(members), self._dice.choice(members)
            return min(two, key=lambda member: evaluator.penalised_cost(member.solution))

        one, other = drawn(), drawn()
        for _ in range(PAIRINGS):
            if one is not other and one.differs(other) >= LEAST_APART:
                break
            other = drawn()
        return one, other

    def _take(self, solution: pyvrp.Solution, brief: Brief) -> None:
        """Add a solution, and where it breaks a limit mostly also what a search with sterner penalties makes of it."""
        self._add(solution, brief)
        if solution.is_feasible() or (self._possible and self._dice.random() >= MENDED):
            return
        evaluator = self._sterner() if self._possible else self._penalties.max_cost_evaluator()
        mended = self._models.of(brief).search(solution, evaluator, exhaustive=True)
        if mended.is_feasible():
            self._add(mended, brief)

    def _sterner(self) -> pyvrp.CostEvaluator:
        loads, time, distance = self._penalties.penalties()
        most = PENALTIES.max_penalty
        return pyvrp.CostEvaluator(
            [min(most, STERNER * each) for each in loads], min(most, STERNER * time), min(most, STERNER * distance)
        )

    def _add(self, solution: pyvrp.Solution, brief: Brief) -> None:
        """Take a solution into its population, and choose from that where it has grown."""
        self._penalties.register(solution)
        genes = self._models.genes(solution, brief)
        member = Member(solution, genes, brief, following(genes, len(self._frame.clients)))
        if solution.is_feasible():
            self._possible.append(member)
            cost = self._penalties.cost_evaluator().penalised_cost(solution)
            if self._best is None or cost < self._best_cost:
                self._best, self._best_cost, self._last_gain = member, cost, self._crossings
                self._note(member)
            if self._telling.due() and self._told is not self._best:
                self._told = self._best
                self._telling.tell(self._orders(self._best))
        else:
            self._broken.append(member)
        evaluator = self._penalties.cost_evaluator()
        for members in (self._possible, self._broken):
            if len(members) > FEWEST + MOST_MORE:
                costs = [evaluator.penalised_cost(each.solution) for each in members]
                kept = survivors(members, costs, FEWEST)
                for each in kept:
                    each.apart = {other: share for other, share in each.apart.items() if other in kept}
                members[:] = kept

    def _note(self, member: Member) -> None:
        for kind, stops in member.genes:
            self._noted.note(self._frame.kinds[kind].routes[0], tuple(clients_in(stops)))

    def _orders(self, member: Member) -> Orders:
        return in_turn(self._frame, ((kind, clients_in(stops)) for kind, stops in member.genes))
