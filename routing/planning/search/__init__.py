"""Which engine runs when, and the best of what they find.

Its modules are imported when they are first asked for: solvers and compiled code take half a second.
"""

from typing import TYPE_CHECKING

from routing.lazily import modules_of

if TYPE_CHECKING:
    from routing.planning.search import scarce_stock as scarce_stock
    from routing.planning.search import set_covering as set_covering

__getattr__ = modules_of(__name__, "scarce_stock", "set_covering")
