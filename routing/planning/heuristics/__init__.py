"""Searches that prove nothing, each behind the interface of an engine.

Its modules are imported when they are first asked for: solvers and compiled code take half a second.
"""

from typing import TYPE_CHECKING

from routing.lazily import modules_of

if TYPE_CHECKING:
    from routing.planning.heuristics import beam as beam
    from routing.planning.heuristics import hybrid_genetic as hybrid_genetic
    from routing.planning.heuristics import pyvrp as pyvrp
    from routing.planning.heuristics import route_annealing as route_annealing
    from routing.planning.heuristics import ruin_recreate as ruin_recreate
    from routing.planning.heuristics import vroom as vroom

__getattr__ = modules_of(__name__, "beam", "hybrid_genetic", "pyvrp", "route_annealing", "ruin_recreate", "vroom")
