"""A hybrid genetic search: crossover puts whole routes of two orders together, PyVRP's local search educates them.

Feasible and infeasible orders are two subpopulations, and what is like others makes way first. A day so brief that it
needs no break is a kind of day of its own; how many of them there are is inherited and mutated. Cannot hold: whole
packs, stock over all crews, the break's place in the day. Tasks are optional with prizes, which only approximate ranks.
Source: T. Vidal, "Hybrid genetic search for the CVRP: open-source implementation and SWAP* neighborhood", Computers &
Operations Research 140 (2022), from memory, not checked. Ours: the routes kept of one parent lie round one client, and
some steps of an iterated local search follow the first.
"""

from __future__ import annotations

import random

import numpy as np
import pyvrp
from pyvrp.PenaltyManager import PenaltyManager, PenaltyParams

from routing.planning.heuristics.brief_models import FIRST_BRIEF, Models
from routing.planning.heuristics.crossover import crossover
from routing.planning.heuristics.population import Brief, Individual, successors, survivors
from routing.planning.heuristics.pyvrp_model import BASE, clients_in, in_turn, stops_of
from routing.planning.model.engine import Ask, Telling, empty
from routing.planning.model.frame import NO_WAY, Frame, Noted, build_frame
from routing.planning.model.problem import Orders

LEAST_POPULATION, GENERATION = 14, 14
"""Individuals kept in each of the two subpopulations, and how many more may come before the survivors are chosen."""

INITIAL = 14
"""Individuals that a population begins with."""


LEAST_PARENT_DISTANCE = 0.05
"""Parents differ in at least this share of their stops, if such are found in PARENT_DRAWS draws."""

PARENT_DRAWS = 5
LOCAL_SEARCH_STEPS = 10
"""Of an iterated local search, after each crossover; with none or 40, rounds of 150 to 400 end no better."""

REPAIR_CHANCE = 0.8
"""Chance that what breaks a limit is repaired: searched once more with penalties REPAIR_FACTOR times as large."""

REPAIR_FACTOR = 12.0
BRIEFER = 0.2
"""Chance that the number of brief days changes by one."""


RESTART_AFTER = 3000
"""Crossovers without a better order after which the population begins anew."""

HEARING = 10
"""Crossovers between two looks at what is known elsewhere."""

ITERATIONS_A_CROSSOVER = 20
"""Of what other engines call one, in time."""

LOAD_PENALTY, TIME_PENALTY = 0.5, 3.0
"""At the beginning, for a gram or millilitre and for a second too many."""

PENALTIES = PenaltyParams(
    solutions_between_updates=40, target_feasible=0.4, penalty_increase=1.25, penalty_decrease=0.85
)


class HybridGenetic:
    """The engine."""

    def __call__(self, ask: Ask) -> Orders:
        """Return the best orders found, from random ones and from the start where there is one."""
        frame = build_frame(ask.problem, ask.tasks)
        if not frame.clients or not frame.kinds:
            return empty(ask.problem)
        return _Run(frame, ask).orders()


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
        self._feasible: list[Individual] = []
        self._infeasible: list[Individual] = []
        self._best: Individual | None = None
        self._best_cost = 0
        self._crossovers = self._last_gain = 0
        self._noted = Noted(frame)
        self._telling = Telling(ask.better)
        self._told: Individual | None = None
        self._heard: Orders | None = None

    def orders(self) -> Orders:
        """Run to the limit and return the best orders."""
        try:
            if self._ask.start is not None:
                self._immigrate(self._ask.start)
            self._begin()
            while not self._over():
                self._add_offspring()
                if self._crossovers % HEARING == 0:
                    self._hear()
                if self._crossovers - self._last_gain >= RESTART_AFTER:
                    self._feasible.clear()
                    self._infeasible.clear()
                    self._begin()
            for individual in (*self._feasible, self._best):
                if individual is not None:
                    self._note(individual)
        finally:
            self._noted.tell(self._ask.found)
        return empty(self._ask.problem) if self._best is None else self._orders(self._best)

    def _hear(self) -> None:
        """Take in what is known elsewhere, if it is news."""
        orders = None if self._ask.elsewhere is None else self._ask.elsewhere()
        if orders is not None and orders is not self._heard:
            self._heard = orders
            self._immigrate(orders)

    def _immigrate(self, orders: Orders) -> None:
        stops = [stops_of(self._frame, number, order) for number, order in enumerate(orders)]
        genes = tuple((self._frame.kind_of[number], each) for number, each in enumerate(stops) if each)
        brief = self._models.brief_of(genes)
        self._add_and_repair(self._models.solution(genes, brief), brief)

    def _over(self) -> bool:
        return self._ask.limit.over(self._crossovers * ITERATIONS_A_CROSSOVER)

    def _begin(self) -> None:
        """Make a population from random orders."""
        self._last_gain = self._crossovers
        for _ in range(INITIAL):
            if self._over():
                break
            self._crossovers += 1
            brief = self._some_brief()
            made = self._models.of(brief)
            random_one = pyvrp.Solution.make_random(made.data, self._models.rng)
            self._add_and_repair(made.search(random_one, self._penalties.cost_evaluator(), exhaustive=True), brief)

    def _some_brief(self) -> Brief:
        """Return one brief day of any kind, or none."""
        brief = [0] * len(self._models.most)
        kinds = [number for number, most in enumerate(self._models.most) if most]
        if kinds and self._dice.random() < FIRST_BRIEF:
            brief[self._dice.choice(kinds)] = 1
        return tuple(brief)

    def _add_offspring(self) -> None:
        """Add the educated offspring of two parents."""
        self._crossovers += 1
        evaluator = self._penalties.cost_evaluator()
        one, other = self._parents(evaluator)
        near = self._near[self._dice.randrange(len(self._near))].tolist()
        many = self._dice.randint(1, max(1, len(one.genes) - 1))
        genes = crossover(one.genes, other.genes, near, many, self._room, self._group, self._able)
        brief = self._models.briefest(genes, self._mutated(sum(self._dice.choice((one, other)).brief)))
        made = self._models.of(brief)
        child = made.search(self._models.solution(genes, brief), evaluator, exhaustive=True)
        cost = evaluator.penalised_cost(child)
        for _ in range(LOCAL_SEARCH_STEPS):
            step = made.search(child, evaluator, exhaustive=False)
            cost_of_step = evaluator.penalised_cost(step)
            if cost_of_step <= cost:
                child, cost = step, cost_of_step
        self._add_and_repair(child, brief)

    def _mutated(self, brief: int) -> int:
        """Return how many days of the offspring are to be brief, at times one more or less."""
        if self._dice.random() >= BRIEFER:
            return brief
        return min(sum(self._models.most), max(0, brief + self._dice.choice((-1, 1))))

    def _parents(self, evaluator: pyvrp.CostEvaluator) -> tuple[Individual, Individual]:
        """Return two parents by binary tournaments; they differ where such are found soon."""
        individuals = [*self._feasible, *self._infeasible]

        def drawn() -> Individual:
            two = self._dice.choice(individuals), self._dice.choice(individuals)
            return min(two, key=lambda individual: evaluator.penalised_cost(individual.solution))

        one, other = drawn(), drawn()
        for _ in range(PARENT_DRAWS):
            if one is not other and one.broken_pairs_distance(other) >= LEAST_PARENT_DISTANCE:
                break
            other = drawn()
        return one, other

    def _add_and_repair(self, solution: pyvrp.Solution, brief: Brief) -> None:
        """Add a solution, and where it breaks a limit mostly also what a search with larger penalties makes of it."""
        self._add(solution, brief)
        if solution.is_feasible() or (self._feasible and self._dice.random() >= REPAIR_CHANCE):
            return
        evaluator = self._repair_evaluator() if self._feasible else self._penalties.max_cost_evaluator()
        repaired = self._models.of(brief).search(solution, evaluator, exhaustive=True)
        if repaired.is_feasible():
            self._add(repaired, brief)

    def _repair_evaluator(self) -> pyvrp.CostEvaluator:
        loads, time, distance = self._penalties.penalties()
        most = PENALTIES.max_penalty
        return pyvrp.CostEvaluator(
            [min(most, REPAIR_FACTOR * each) for each in loads],
            min(most, REPAIR_FACTOR * time),
            min(most, REPAIR_FACTOR * distance),
        )

    def _add(self, solution: pyvrp.Solution, brief: Brief) -> None:
        """Take a solution into its population, and choose from that where it has grown."""
        self._penalties.register(solution)
        genes = self._models.genes(solution, brief)
        individual = Individual(solution, genes, brief, successors(genes, len(self._frame.clients)))
        if solution.is_feasible():
            self._feasible.append(individual)
            cost = self._penalties.cost_evaluator().penalised_cost(solution)
            if self._best is None or cost < self._best_cost:
                self._best, self._best_cost, self._last_gain = individual, cost, self._crossovers
                self._note(individual)
            if self._telling.due() and self._told is not self._best:
                self._told = self._best
                self._telling.tell(self._orders(self._best))
        else:
            self._infeasible.append(individual)
        evaluator = self._penalties.cost_evaluator()
        for individuals in (self._feasible, self._infeasible):
            if len(individuals) > LEAST_POPULATION + GENERATION:
                costs = [evaluator.penalised_cost(each.solution) for each in individuals]
                kept = survivors(individuals, costs, LEAST_POPULATION)
                for each in kept:
                    each.distances = {other: share for other, share in each.distances.items() if other in kept}
                individuals[:] = kept

    def _note(self, individual: Individual) -> None:
        for kind, stops in individual.genes:
            self._noted.note(self._frame.kinds[kind].routes[0], tuple(clients_in(stops)))

    def _orders(self, individual: Individual) -> Orders:
        return in_turn(self._frame, ((kind, clients_in(stops)) for kind, stops in individual.genes))
