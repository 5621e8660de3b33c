"""The shortest day of an order and what is on board along it, by arithmetic of its own: nothing of it is the planning's."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from routing.planning.model.problem import NO_LIMIT, Order, Planned, Problem, Task


def least_day(problem: Problem, route: int, order: Order) -> tuple[int, int] | None:
    """Return the least seconds away and then metres of a crew's order, None where it breaks a rule; stock is not asked.

    Every choice of returns that the loads ask for and every gap for the break is tried.
    """
    lasts = [problem.visits[planned.visit].last_of_day for planned in order]
    if lasts != sorted(lasts):
        return None
    rules = problem.routes[route]
    found: dict[bool, list[tuple[int, int]]] = {False: [], True: []}
    for returns in possible_returns(problem, route, order):
        way = _way(problem, route, order, returns)
        plain = None if way is None else way.least_away(None)
        if way is None or plain is None:
            continue
        if not rules.break_seconds or plain <= rules.break_after_seconds:
            found[False].append((plain, way.metres))
            continue
        for gap in range(len(order)):
            away = way.least_away(gap)
            if away is not None:
                found[lasts[max(0, gap - 1)]].append((away, way.metres))
    best = min(found[False] or found[True], default=None)
    return None if best is None or NO_LIMIT < rules.most_away < best[0] else best


@dataclass(frozen=True)
class Way:
    """The drives and works of an order one after the other, loading at base in between counted as drive."""

    drives: Sequence[int]
    """Shape (stops + 1,): to each stop and home."""
    works: Sequence[int]
    opens: Sequence[int]
    closes: Sequence[int]
    metres: int
    earliest: int
    latest: int
    home_by: int
    rest: int
    rest_after: int

    def least_away(self, gap: int | None) -> int | None:
        """Return the seconds away with the break before the work of stop `gap`: home first, then leave as late as that allows.

        Later still, home is later by as much; and what lies between leaving and the break is shortest then.
        """
        drives = [drive + self.rest * (number == gap) for number, drive in enumerate(self.drives)]
        finishes = self._finishes(drives, self.earliest)
        if finishes is None:
            return None
        home = finishes[-1] + drives[-1]
        latest = finishes[-1] - self.works[-1]
        for number in reversed(range(len(self.works) - 1)):
            latest = min(self.closes[number], latest - drives[number + 1]) - self.works[number]
        leave = min(latest - drives[0], self.latest)
        if home > self.home_by or leave < self.earliest:
            return None
        if gap:
            told = self._finishes(drives, leave)
            if told is None or told[gap - 1] - leave > self.rest_after:
                return None
        return home - leave

    def _finishes(self, drives: Sequence[int], leave: int) -> list[int] | None:
        """Return when each stop is finished at the soonest, None where one closes before."""
        clock, finishes = leave, []
        for drive, work, opens, closes in zip(drives[:-1], self.works, self.opens, self.closes, strict=True):
            clock = max(clock + drive, opens) + work
            if clock > closes:
                return None
            finishes.append(clock)
        return finishes


def _way(problem: Problem, route: int, order: Order, returns: tuple[int, ...]) -> Way | None:
    """Return what an order takes that comes back to base before these stops, None where there is no way."""
    rules = problem.routes[route]
    visits = [problem.visits[planned.visit] for planned in order]
    drives: list[int] = []
    metres = 0
    for number, (here, there) in enumerate(itertools.pairwise((0, *(visit.place for visit in visits), 0))):
        legs = [(here, 0), (0, there)] if number in returns else [(here, there)]
        if any(rules.drive_seconds[leg] < 0 for leg in legs):
            return None
        drives.append(sum(int(rules.drive_seconds[leg]) for leg in legs) + rules.reload_seconds * (len(legs) - 1))
        metres += sum(int(rules.drive_metres[leg]) for leg in legs)
    return Way(
        drives=drives,
        works=[work_seconds(problem, route, planned) for planned in order],
        opens=[visit.opens for visit in visits],
        closes=[visit.closes for visit in visits],
        metres=metres,
        earliest=rules.earliest_leave,
        latest=rules.leaves_by,
        home_by=rules.home_by,
        rest=rules.break_seconds,
        rest_after=rules.break_after_seconds,
    )


def work_seconds(problem: Problem, route: int, planned: Planned) -> int:
    """Return the walk, the largest set-up and each job's work of a stop."""
    works = problem.routes[route].work_seconds
    set_up = max(problem.tasks[task].set_up_seconds for task in planned.tasks)
    return problem.visits[planned.visit].walk_seconds + set_up + sum(works[task] for task in planned.tasks)


def possible_returns(problem: Problem, route: int, order: Order) -> list[tuple[int, ...]]:
    """Return every choice of returns that loads and last-of-day sites allow, the fewest first; none where one load does."""
    if carried_in_one(problem, route, order, ()):
        return [()]
    found = []
    for count in range(1, problem.routes[route].most_trips):
        for returns in itertools.combinations(range(1, len(order)), count):
            cuts = list(itertools.pairwise((0, *returns, len(order))))
            healthy = not any(problem.visits[order[cut - 1].visit].last_of_day for cut in returns)
            if healthy and all(carried_in_one(problem, route, order[a:b], order[:a]) for a, b in cuts):
                found.append(returns)
    return found


def carried_in_one(problem: Problem, route: int, stops: Order, before: Order) -> bool:
    """Return whether one load does these stops after those before, counted material by material."""
    rules = problem.routes[route]
    tasks = [[problem.tasks[task] for task in planned.tasks] for planned in stops]
    until = [problem.tasks[task] for planned in before for task in planned.tasks]
    on_board = [
        packed(problem, number, used(until, number) + sum(used(each, number) for each in tasks)) - used(until, number)
        for number in range(len(problem.supplies))
    ]
    grams = [supply.grams_each for supply in problem.supplies]
    millilitres = [supply.millilitres_each for supply in problem.supplies]
    for each, limit in ((grams, rules.payload_grams), (millilitres, rules.space_millilitres)):
        board = sum(a * b for a, b in zip(on_board, each, strict=True))
        fullest = board
        for at_stop in tasks:
            board -= sum(amount * each[supply] for task in at_stop for supply, amount in task.uses)
            board += sum(amount * each[supply] for task in at_stop for supply, amount in task.back)
            on_top = sum(amount * each[supply] for task in at_stop for supply, amount in task.carried)
            fullest = max(fullest, board + on_top)
        if fullest > limit + 1e-6:
            return False
    return True


def used(tasks: Iterable[Task], supply: int) -> int:
    """Return the thousandths of one material that tasks use."""
    return sum(amount for task in tasks for number, amount in task.uses if number == supply)


def packed(problem: Problem, supply: int, amount: int) -> int:
    """Return what is loaded for an amount: whole packs, but never more than the stock."""
    facts = problem.supplies[supply]
    whole = amount if not facts.pack else -(-amount // facts.pack) * facts.pack
    return whole if facts.stock == NO_LIMIT else min(whole, max(facts.stock, amount))


def in_stock(problem: Problem, tasks: Iterable[int]) -> bool:
    """Return whether there is enough at base of every material for these tasks together."""
    facts = [problem.tasks[task] for task in tasks]
    return all(
        supply.stock == NO_LIMIT or used(facts, number) <= supply.stock
        for number, supply in enumerate(problem.supplies)
    )


def weights(problem: Problem, tasks: Iterable[int], ranks: int) -> tuple[int, ...]:
    """Return the weight of these tasks in each rank, the first rank first."""
    sums = [0] * ranks
    for task in tasks:
        sums[problem.tasks[task].rank] += problem.tasks[task].weight
    return tuple(sums)
