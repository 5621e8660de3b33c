"""Bounds that hold for every round: column generation over ng-routes, and spanning trees.

Its modules are imported when they are first asked for: solvers and compiled code take half a second.
"""

from typing import TYPE_CHECKING

from routing.lazily import modules_of

if TYPE_CHECKING:
    from routing.planning.bounds import column_generation as column_generation

__getattr__ = modules_of(__name__, "column_generation")
