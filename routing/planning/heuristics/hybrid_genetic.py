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
from dataclasses import dataclass, field

import numpy as np
import pyvrp
from pyvrp.PenaltyManager import PenaltyManager, PenaltyParams

from routing.planning.heuristics.brief_models import FIRST_BRIEF, Models
from routing.planning.heuristics.crossing import crossed
from routing.planning.heuristics.population import Brief, Member, following, survivors
from routing.planning.heuristics.pyvrp_model import BASE, clients_in, in_turn, stops_of
from routing.planning.model.engine import Ask, Telling, empty
from routing.planning.model.frame import NO_WAY, Frame, Noted, lay
from routing.planning.model.problem import Orders

FEWEST, MOST_MORE = 14, 14
"""Orders kept in each of the two populations, and how many more may come before they are chosen from."""

FIRST = 14
"""Orders that a population begins with."""


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


WITHOUT_GAIN = 3000
"""Crossings without a better order after which the population begins anew."""

HEARING = 10
"""Crossings between two looks at what is known elsewhere."""

ITERATIONS_A_CROSSING = 20
"""Of what other engines call one, in time."""

LOAD_PENALTY, TIME_PENALTY = 0.5, 3.0
"""At the beginning, for a gram or millilitre and for a second too many."""

PENALTIES = PenaltyParams(
    solutions_between_updates=40, target_feasible=0.4, penalty_increase=1.25, penalty_decrease=0.85
)


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
