"""Even days: the shortest longest day for the same jobs, against trying everything, with its price."""

from __future__ import annotations

import dataclasses
import datetime as dt
from pathlib import Path

import pytest

from routing.check import broken_promises
from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.planning import plan
from routing.planning.exact.cp_sat import best_day
from routing.planning.model.build_instance import build_instance
from routing.planning.model.instance import Instance
from routing.planning.model.load import stock_left
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import RANKS, Planned, Problem, served
from routing.planning.plan import Wish, plan_days
from routing.planning.proof_words import Solved
from routing.planning.running.budget import Budget
from routing.planning.search.balance import away_of_each, balanced, longest
from routing.planning.search.insertion import construct
from routing.planning.search.solution import Solution
from routing.round import Round
from routing.stages import plan as plan_stage
from routing.travel.farm import farm_legs
from tests.planning.random_problems import EachSet, PressesCtrlC, best_by_trying, key, random_problem
from tests.random_farms import random_farm
from tests.together import then_deep

FOUR = Path(__file__).parents[2] / "examples" / "four-sites"
WEDNESDAY, THURSDAY = dt.date(2026, 6, 10), dt.date(2026, 6, 11)
MINUTE = 60

FEATURES = (
    frozenset[str](),
    frozenset({"hours", "break"}),
    frozenset({"crews", "two tasks"}),
    frozenset({"hours", "closed", "last", "load"}),
)


def most_even(problem: Problem, tasks: frozenset[int]) -> tuple[int, int]:
    """Return the shortest longest day, then the least time away in all, over every round of exactly these tasks."""
    reached: dict[frozenset[int], set[tuple[int, int]]] = {frozenset(): {(0, 0)}}
    for route in range(len(problem.routes)):
        further: dict[frozenset[int], set[tuple[int, int]]] = {}
        each = EachSet(problem, route)
        for mine, day in ((mine, each[mine]) for mine in each if mine <= tasks):
            if day is None:
                continue
            for done, values in reached.items():
                if not mine & done:
                    more = {(max(most, day[0]), total + day[0]) for most, total in values}
                    further.setdefault(done | mine, set()).update(more)
        reached = further
    return min(reached[tasks])


@pytest.mark.parametrize("seed", then_deep([0], range(3)))
@pytest.mark.parametrize("features", FEATURES, ids=lambda features: " ".join(sorted(features)) or "plain")
def test_no_round_of_the_same_jobs_is_more_even(seed: int, features: frozenset[str]) -> None:
    """Three crew-days on two days, five sites: every share-out and every order is tried."""
    problem = random_problem(seed, visits=5, routes=3, features=features, days=2)
    start = construct(OrderCosts(problem), frozenset(range(len(problem.tasks))))
    found = balanced(problem, start, Budget(2)).orders
    value = key(problem, found)
    assert value is not None
    assert served(found) == served(start)
    assert (longest(problem, found), -value[RANKS]) == most_even(problem, served(start))


def test_the_same_input_gives_the_same_even_days() -> None:
    problem = random_problem(7, visits=9, routes=3, features=frozenset({"hours"}))
    start = construct(OrderCosts(problem), frozenset(range(len(problem.tasks))))
    once, again = (balanced(problem, start, Budget(2)) for _ in range(2))
    assert once == again


def test_ctrl_c_keeps_the_most_even_so_far() -> None:
    problem = random_problem(0, visits=5, routes=3, days=2)
    start = construct(OrderCosts(problem), frozenset(range(len(problem.tasks))))
    press = PressesCtrlC()
    found = balanced(problem, start, Budget(2), progress=press)
    assert found.interrupted
    assert not found.days_proven
    assert found.orders == press.told[-1]
    assert longest(problem, found.orders) < longest(problem, start)


@pytest.mark.parametrize("features", [frozenset[str](), frozenset({"hours", "break"})], ids=["plain", "hours break"])
@pytest.mark.parametrize("seed", range(4))
def test_a_day_with_a_longest_time_away_is_solved_exactly(seed: int, features: frozenset[str]) -> None:
    """Half an hour less than the best order needs: the exact day agrees with trying every order."""
    free = random_problem(seed, features=features)
    tasks = frozenset(range(len(free.tasks)))
    limit = -best_by_trying(free)[RANKS] - 30 * MINUTE
    bound = dataclasses.replace(free, routes=(dataclasses.replace(free.routes[0], most_away=limit),))
    answer = best_day(bound, 0, tasks, stock_left(bound, ()))
    assert key(bound, (answer.order,)) == best_by_trying(bound)
    assert longest(bound, (answer.order,)) <= limit


def farm(home_by: dt.time = dt.time(13), due_by: dt.date | None = None) -> Farm:
    read = read_farm(FOUR)
    crew = read.crews[0].model_copy(update={"home_by": home_by})
    jobs = tuple(job.model_copy(update={"due_by": due_by}) for job in read.jobs)
    return read.model_copy(update={"crews": (crew,), "jobs": jobs})


def test_four_sites_on_two_days_with_pencil_and_paper() -> None:
    """One day does all in 270 min. In twos: A B and C D 145 and 160, A C and B D 155 and 180, A D and B C 175 and 155.

    Three and one takes at least 200. So the longest day is 160 min and all take 305, 35 more.
    """
    planned = plan_stage.plan(farm(), WEDNESDAY, THURSDAY, wish=Wish(even=True))
    sites = [{stop.site for stop in itinerary.stops} for itinerary in planned.itineraries]
    assert sorted(sites, key=sorted) == [{"A", "B"}, {"C", "D"}]
    assert planned.even is not None
    assert planned.even.longest_before_seconds == 270 * MINUTE
    assert planned.even.longest_seconds == 160 * MINUTE
    assert planned.even.extra_seconds == 35 * MINUTE
    assert planned.even.text == (
        "Even days: the longest day is 2 h 40 instead of 4 h 30; all together 35 min more away."
    )
    assert not planned.proof.optimal


def test_no_job_is_done_later_than_due_for_evenness() -> None:
    """All four are due on Wednesday and done on it; the next day stays empty."""
    planned = plan_stage.plan(farm(due_by=WEDNESDAY), WEDNESDAY, THURSDAY, wish=Wish(even=True))
    assert [itinerary.date for itinerary in planned.itineraries] == [WEDNESDAY]
    assert planned.even is not None
    assert planned.even.extra_seconds == 0
    assert "no round of the same jobs was found" in planned.even.text


def test_one_day_alone_has_none_to_be_even_with() -> None:
    planned = plan_stage.plan(farm(), WEDNESDAY, wish=Wish(even=True))
    assert planned.even is not None
    assert planned.even.text == "Even days: there is only one day."
    assert planned.proof.optimal


def test_room_that_even_days_leave_is_used_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """In 170 min a day, B C and A leave no room for D; A B and C, the most even of these three, do: C D takes 160."""
    short = farm(dt.time(10, 50))

    def poor(days: Instance, *_rest: object) -> Solved:
        def day_of(number: int, *tasks: int) -> tuple[Planned, ...]:
            visits = days.problem.visits
            found = {task: n for n, visit in enumerate(visits) if visit.day == number for task in visit.tasks}
            return tuple(Planned(found[task], (task,)) for task in tasks)

        bounds = (0, 21, 7, 0)
        orders = (day_of(0, 1, 2), day_of(1, 0))
        solution = Solution(orders, proven=False, days_proven=False, rank_bounds=bounds, away_bound=0)
        return Solved(solution, on_time=False)

    monkeypatch.setattr(plan, "best_orders", poor)
    planned = plan_stage.plan(short, WEDNESDAY, THURSDAY, wish=Wish(even=True))
    assert planned.all_done
    assert planned.even is not None
    assert planned.even.longest_before_seconds == planned.even.longest_seconds == 160 * MINUTE


def overdue(planned: Round) -> dict[str, int]:
    return {job.id: job.days_overdue for day_ in planned.itineraries for stop in day_.stops for job in stop.jobs}


def aways(planned: Round) -> list[int]:
    return [itinerary.away_seconds for itinerary in planned.itineraries]


@pytest.mark.parametrize("seed", then_deep([1000, 1001, 1008], [1015, 1018, 1037]))
def test_a_random_farm_with_even_days_does_the_same_no_later_and_tells_the_price(seed: int) -> None:
    land, date = random_farm(seed)
    legs = farm_legs(land)
    days = build_instance(land, legs, (date, date + dt.timedelta(days=1), date + dt.timedelta(days=3)))
    plain, even = (plan_days(days, 3, Wish(even=even, surest=False)) for even in (False, True))
    assert broken_promises(even, land, legs) == ()
    assert overdue(even).keys() == overdue(plain).keys()
    assert all(late <= overdue(plain)[job] for job, late in overdue(even).items())
    assert plain.even is None
    assert even.even is not None
    assert even.even.longest_before_seconds == max(aways(plain))
    assert even.even.longest_seconds == max(aways(even)) <= max(aways(plain))
    assert even.even.extra_seconds == sum(aways(even)) - sum(aways(plain))


def test_some_of_these_farms_become_more_even() -> None:
    """Else the test above would hold of doing nothing."""
    land, date = random_farm(1001)
    days = build_instance(land, farm_legs(land), (date, date + dt.timedelta(days=1), date + dt.timedelta(days=3)))
    even = plan_days(days, 3, Wish(even=True)).even
    assert even is not None
    assert even.longest_seconds < even.longest_before_seconds


def test_away_is_told_for_each_crew_day() -> None:
    problem = random_problem(0, visits=5, routes=3, days=2)
    orders = construct(OrderCosts(problem), frozenset(range(len(problem.tasks))))
    value = key(problem, orders)
    assert value is not None
    assert sum(away_of_each(problem, orders)) == -value[RANKS]
    assert [away > 0 for away in away_of_each(problem, orders)] == [bool(order) for order in orders]
