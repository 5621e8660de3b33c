"""Small random problems, and the answer by trying every order: the oracle for the engines."""

from __future__ import annotations

import dataclasses
import itertools
import random
import time
from collections.abc import Iterator, Sequence
from operator import itemgetter

import numpy as np
from numpy.typing import NDArray

from routing.planning.model.engine import Ask, Engine
from routing.planning.model.problem import (
    NO_LIMIT,
    RANKS,
    Order,
    Orders,
    Planned,
    Problem,
    Route,
    Supply,
    Task,
    Visit,
)
from tests.planning.day_by_hand import in_stock, least_day, weights

HOUR = 3600


@dataclasses.dataclass
class PressesCtrlC:
    """Hears of better orders, keeps them, and presses Ctrl-C at once."""

    told: list[tuple[Order, ...]] = dataclasses.field(default_factory=list)

    def __call__(self, orders: tuple[Order, ...]) -> None:
        self.told.append(orders)
        raise KeyboardInterrupt


def random_problem(
    seed: int, visits: int = 5, routes: int = 1, features: frozenset[str] = frozenset(), days: int = 1
) -> Problem:
    """Return a problem in which not all can be done; `features` adds hours, two tasks, load, stock, break, last, moves.

    With "moves" some places are left from elsewhere than they are entered, with hives on board in between.
    With "returns" the crew may come back to base once or twice to load again.
    With several days every visit is possible on each (with "closed", on some), and routes take the days in turn. With
    "crews" the second route's people are slower and may not do every task.
    """
    dice = random.Random(seed)
    places = visits + 1
    seconds = np.zeros((places, places), dtype=np.int64)
    for i, j in itertools.permutations(range(places), 2):
        seconds[i, j] = dice.randint(300, 2400)
    tasks: list[Task] = []
    possible: list[Visit] = []
    for place in range(1, places):
        mine = []
        for _ in range(2 if "two tasks" in features and dice.random() < 0.5 else 1):
            mine.append(len(tasks))
            tasks.append(
                Task(
                    set_up_seconds=dice.choice([300, 600, 900]),
                    rank=dice.randrange(RANKS - 1),  # the same draws as ever; the last rank is drawn elsewhere
                    weight=7 + dice.choice([0, 0, 5]),
                    uses=((0, dice.randint(1, 40) * 1000),) if features & {"load", "stock", "returns"} else (),
                    back=((1, dice.randint(0, 30) * 1000),) if "back" in features else (),
                )
            )
        opens, closes = 8 * HOUR + dice.randint(0, 60), 13 * HOUR + dice.randint(0, 60)
        if "hours" in features and dice.random() < 0.6:
            opens += dice.randint(-1, 3) * HOUR
            closes = min(closes + HOUR, opens + dice.randint(2, 4) * HOUR)
        possible.append(
            Visit(
                place=place,
                opens=opens,
                closes=closes,
                tasks=tuple(mine),
                walk_seconds=dice.choice([0, 120]),
                last_of_day="last" in features and dice.random() < 0.4,
            )
        )
        if "spans" in features and dice.random() < 0.5:
            possible.append(Visit(place, 9 * HOUR, 10 * HOUR, tuple(mine)))
    work = tuple(dice.randint(900, 5400) for _ in tasks)
    if "moves" in features:
        seconds = _with_moves(dice, seconds, tasks, possible)
    later = [
        dataclasses.replace(visit, day=day, opens=visit.opens + day * 24 * HOUR, closes=visit.closes + day * 24 * HOUR)
        for day in range(1, days)
        for visit in possible
    ]
    if "closed" in features:
        possible = [visit for visit in possible if dice.random() < 0.7]
        later = [visit for visit in later if dice.random() < 0.7]
    possible += later
    return Problem(
        supplies=(
            Supply(12_500, 100_000 if "stock" in features else NO_LIMIT, 1.0, 0.8),
            Supply(0, NO_LIMIT, 1.1, 1.5),
        ),
        tasks=tuple(tasks),
        visits=tuple(possible),
        routes=tuple(
            Route(
                earliest_leave=number % days * 24 * HOUR + 7 * HOUR + 1800,
                home_by=number % days * 24 * HOUR + 14 * HOUR,
                payload_grams=_payload(features),
                space_millilitres=80_000 if "space" in features else 10_000_000,
                break_seconds=1200 if "break" in features else 0,
                break_after_seconds=4 * HOUR,
                work_seconds=tuple(w * 5 // 4 for w in work) if "crews" in features and number else work,
                allowed=tuple(not ("crews" in features and number) or dice.random() < 0.7 for _ in tasks),
                drive_seconds=seconds,
                drive_metres=seconds * 15,
                day=number % days,
                most_trips=1 if "returns" not in features else 2 + seed % 2,
                reload_seconds=600,
            )
            for number in range(routes)
        ),
    )


def _payload(features: frozenset[str]) -> int:
    if "returns" in features:
        return 70_000 if features & {"back", "moves"} else 50_000
    return 90_000 if features & {"load", "back", "moves"} else 10_000_000


def _with_moves(
    dice: random.Random, seconds: NDArray[np.int64], tasks: list[Task], possible: list[Visit]
) -> NDArray[np.int64]:
    """Return the drives with places of one task left from where another one stands, or from one of their own."""
    changed = seconds.copy()
    for place in range(1, len(seconds)):
        mine = {task for visit in possible if visit.place == place for task in visit.tasks}
        if len(mine) > 1 or dice.random() < 0.3:
            continue
        task = mine.pop()
        tasks[task] = dataclasses.replace(tasks[task], carried=((1, dice.randint(10, 60) * 1000),))
        end = dice.randrange(1, len(seconds) + 1)
        changed[place] = seconds[end] if end < len(seconds) else [dice.randint(300, 2400) for _ in seconds]
    return changed


def key(problem: Problem, orders: tuple[Order, ...]) -> tuple[int, ...] | None:
    """Return what is compared (larger is better), or None where a rule is broken."""
    away = metres = 0
    for route, order in enumerate(orders):
        if not order:
            continue
        day = least_day(problem, route, order)
        if day is None:
            return None
        away += day[0]
        metres += day[1]
    tasks = done_in(orders)
    if not in_stock(problem, tasks):
        return None
    return (*weights(problem, tasks, RANKS), -away, -metres)


def done_in(orders: tuple[Order, ...]) -> frozenset[int]:
    """Return every task of the orders."""
    return frozenset(task for order in orders for planned in order for task in planned.tasks)


def every_choice(problem: Problem, route: int | None = None) -> Iterator[tuple[Planned, ...]]:
    """Yield every choice of stops and of tasks in each, in no sequence; of a route only what it may do on its day."""
    rules = None if route is None else problem.routes[route]
    choices: list[list[Planned | None]] = []
    for number, visit in enumerate(problem.visits):
        tasks = visit.tasks
        if rules is not None:
            tasks = tuple(task for task in tasks if rules.allowed[task]) if visit.day == rules.day else ()
        subsets = [
            Planned(number, subset)
            for size in range(1, len(tasks) + 1)
            for subset in itertools.combinations(tasks, size)
        ]
        choices.append([None, *subsets])
    for choice in itertools.product(*choices):
        stops = tuple(planned for planned in choice if planned is not None)
        done = [task for planned in stops for task in planned.tasks]
        if len(done) == len(set(done)):
            yield stops


def every_order(problem: Problem) -> Iterator[Order]:
    """Yield every order of one route: every choice of stops, of tasks in each, and of sequence."""
    for stops in every_choice(problem):
        yield from itertools.permutations(stops)


def best_by_trying(problem: Problem) -> tuple[int, ...]:
    """Return the key of the best order of a one-route problem.

    Choices are taken by falling weight, each in every sequence: one of less weight than can be done is not timed.
    """
    choices = [(weights(problem, done_in((stops,)), RANKS), stops) for stops in every_choice(problem)]
    best: tuple[int, ...] | None = None
    for weight, stops in sorted(choices, key=itemgetter(0), reverse=True):
        if best is not None and weight < best[:RANKS]:
            break
        for order in itertools.permutations(stops):
            found = key(problem, (order,))
            best = found if best is None or (found is not None and found > best) else best
    assert best is not None
    return best


def every_order_of(problem: Problem, route: int) -> Iterator[Order]:
    """Yield every order of one of several routes: only visits of its day, only tasks that it may do."""
    for stops in every_choice(problem, route):
        yield from itertools.permutations(stops)


class EachSet:
    """The least time away and metres of one route for a set of tasks, by trying every order of it when it is asked for."""

    def __init__(self, problem: Problem, route: int) -> None:
        self._problem, self._route = problem, route
        self._known: dict[frozenset[int], tuple[int, int] | None] = {frozenset(): (0, 0)}
        self._choices: dict[frozenset[int], list[tuple[Planned, ...]]] = {}
        for stops in every_choice(problem, route):
            self._choices.setdefault(done_in((stops,)), []).append(stops)

    def __iter__(self) -> Iterator[frozenset[int]]:
        return iter(self._choices)

    def __getitem__(self, tasks: frozenset[int]) -> tuple[int, int] | None:
        """Return seconds and metres, None where no order of the tasks keeps the rules."""
        if tasks not in self._known:
            orders = itertools.chain.from_iterable(map(itertools.permutations, self._choices[tasks]))
            days = (least_day(self._problem, self._route, order) for order in orders)
            self._known[tasks] = min((day for day in days if day is not None), default=None)
        return self._known[tasks]


def hold_ranks(bounds: Sequence[int], best: Sequence[int], reached: Sequence[int]) -> None:
    """Hold a bound of each rank to the best of all, up to the first rank in which it is more than was reached."""
    for most, some, got in zip(bounds, best, reached, strict=False):
        assert most >= some
        if most > got:
            break


def best_of_two(problem: Problem, exactly: frozenset[int] | None = None) -> tuple[int, ...]:
    """Return the key of the best orders of a two-route problem, of all or of those that do exactly these tasks.

    Pairs of sets are taken by falling weight: one of less weight than can be done is not timed.
    """
    one, two = EachSet(problem, 0), EachSet(problem, 1)
    pairs = [
        (weights(problem, mine | theirs, RANKS), mine, theirs)
        for mine, theirs in itertools.product(one, two)
        if not mine & theirs and exactly in {None, mine | theirs}
    ]
    best: tuple[int, ...] | None = None
    for weight, mine, theirs in sorted(pairs, key=itemgetter(0), reverse=True):
        if best is not None and weight < best[:RANKS]:
            break
        first = one[mine] if in_stock(problem, mine | theirs) else None
        second = None if first is None else two[theirs]
        if first is not None and second is not None:
            value = (*weight, -first[0] - second[0], -first[1] - second[1])
            best = value if best is None or value > best else best
    assert best is not None
    return best


def wait_until_over(ask: Ask) -> None:
    """Do nothing until the engine that was asked is to end."""
    while not ask.limit.over(0):
        time.sleep(0.01)


def listening(engine: Engine, asked: list[Ask]) -> Engine:
    """Return the engine that also notes what it is asked."""

    def ask_it(ask: Ask) -> Orders:
        asked.append(ask)
        return engine(ask)

    return ask_it
