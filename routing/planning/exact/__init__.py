"""One crew-day solved to proof: subset dynamic programme, elementary labelling, constraint programme.

Its modules are imported when they are first asked for: solvers and compiled code take half a second.
"""

from typing import TYPE_CHECKING

from routing.lazily import modules_of

if TYPE_CHECKING:
    from routing.planning.exact import circuit_model as circuit_model
    from routing.planning.exact import cp_sat as cp_sat
    from routing.planning.exact import crew_day as crew_day
    from routing.planning.exact import stretch as stretch

__getattr__ = modules_of(__name__, "circuit_model", "cp_sat", "crew_day", "stretch")
