"""The problem as PyVRP has it, with so many days that are too brief for a break."""

from __future__ import annotations

from dataclasses import dataclass

import pyvrp
from pyvrp.search import (
    OPERATORS,
    LocalSearch,
    NeighbourhoodParams,
    PerturbationManager,
    PerturbationParams,
    compute_neighbours,
)

from routing.planning.heuristics.population import Brief, Genes
from routing.planning.heuristics.pyvrp_model import MOST_SECONDS, activities, model, stops_in
from routing.planning.model.frame import Frame

FIRST_BRIEF = 0.5
"""Chance that a random order has a brief day."""

MOST_MODELS = 200
"""Models with this or that many brief days that are kept."""

NEIGHBOURS = 20
MOST_PERTURBED = 5


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
