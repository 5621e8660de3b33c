"""A day with far more due than it holds: lesser ranks fill the gaps, and what is said of them stays true."""

from __future__ import annotations

import datetime as dt

from routing.check import broken_promises
from routing.farm.models import Farm, Rank
from routing.planning.model.problem import rank_score
from routing.planning.plan import plan_days
from routing.planning.search.solve import solve
from routing.travel.farm import farm_and_legs
from tests.planning.paper_farm import crew, days_of, job, paper_farm


def far_too_many() -> Farm:
    """Return 28 sites 10 min apart, each with a must of 50 min and a want and a passing of 5, and 110 min of day.

    One must with its drives is 70, two at different sites are 130: so one must is all. Wants there and at two sites more
    make it 105, and one passing job 110.
    """
    jobs = [
        job(f"s{site}", minutes, rank)
        for site in range(28)
        for minutes, rank in ((50, Rank.MUST), (5, Rank.WANT), (5, Rank.PASSING))
    ]
    return paper_farm(jobs, 10, crews=crew(home_by=dt.time(9, 50)))


def test_as_many_musts_as_can_be_are_done_and_the_gaps_are_filled() -> None:
    farm = far_too_many()
    planned = plan_days(days_of(farm))
    done = [one.rank for stop in planned.itineraries[0].stops for one in stop.jobs]
    assert done.count(Rank.MUST) == 1
    assert (done.count(Rank.WANT), done.count(Rank.PASSING)) == (3, 1)
    assert broken_promises(planned, *farm_and_legs(farm)) == ()
    assert not planned.proof.optimal


def test_no_bound_is_claimed_of_ranks_that_were_not_searched() -> None:
    """28 wants of weight 7 are due, and nothing is proved of how many of them a day may hold beside the musts."""
    problem = days_of(far_too_many()).problem
    every = frozenset(range(len(problem.tasks)))
    found = solve(problem, every)
    want = list(Rank).index(Rank.WANT)
    assert found.rank_bounds[want:] == rank_score(problem, every)[want:]
    assert found.rank_bounds[want - 1] >= 7
    assert not found.proven
