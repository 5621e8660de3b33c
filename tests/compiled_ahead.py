"""Compiled code made ready once for a whole run, each half by another process, instead of all of it by each."""

from __future__ import annotations

from routing.planning.bounds.column_generation import bounds
from routing.planning.exact.cp_sat import best_day
from routing.planning.heuristics.ruin_recreate import RuinRecreate
from routing.planning.model.engine import Ask, Limit
from routing.planning.model.load import stock_left
from routing.planning.model.order_costs import OrderCosts
from routing.planning.running.budget import Budget
from routing.planning.search.closing import Closing
from routing.planning.search.incumbent import Incumbent
from routing.planning.search.insertion import construct
from tests.farm_rounds import farm_round


def compile_ruins() -> str:
    """Have the ruin and recreate search compiled."""
    problem = farm_round(1, 12, days=2)
    return str(len(RuinRecreate()(Ask(problem, frozenset(range(12)), Limit(1)))))


def compile_labels() -> str:
    """Have all labellings compiled: of one whole day, of bounds, and of every route of a small round."""
    day, days = farm_round(1, 20), farm_round(1, 20, days=2)
    tasks = frozenset(range(20))
    best_day(day, 0, tasks, stock_left(day, ()))
    least = bounds(days, tasks, construct(OrderCosts(days), tasks)).cost
    few = farm_round(9, 12, days=2)
    Closing(Incumbent(few, frozenset(range(12)), None), Budget(10)).run()
    return str(least)
