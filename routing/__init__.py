"""Plan the round of a bee farmer's out-apiaries.

What may be used from outside, each imported when it is first asked for; docs/python.md shows it:

farm_in                     read a farm's folder, with its forecast and what its record teaches: a `Farm`
plan, sure_round            the checked `Round` of a day or more; one that holds with a wanted chance
fit                         whether everything due is done before dark, with a proof: a `FitAnswer`
try_order, replan           an order of one's own; the rest of a day from where a crew stands
what_if, explain, chance    something changed; one site; how likely the day holds
due, feed                   what is due; how long stores last and what to order
write_plan, saved           write a round as files; read a saved one, checked anew
share_round, Wanted         give a round away as GPX, calendar, GeoJSON, table, workbook or locked pages
plan_arrays                 plan from plain arrays, without a farm

Everything wrong with what is given raises an `OutyardError`, whose text is written for the farmer.
"""

from typing import TYPE_CHECKING

from routing.lazily import things_of

if TYPE_CHECKING:
    from routing.errors import AskedError as AskedError
    from routing.errors import FarmError as FarmError
    from routing.errors import OutyardError as OutyardError
    from routing.farm.models import Farm as Farm
    from routing.planning.arrays import plan_arrays as plan_arrays
    from routing.round import FitAnswer as FitAnswer
    from routing.round import Round as Round
    from routing.stages.ask import Changes as Changes
    from routing.stages.ask import chance as chance
    from routing.stages.ask import explain as explain
    from routing.stages.ask import fit as fit
    from routing.stages.ask import replan as replan
    from routing.stages.ask import try_order as try_order
    from routing.stages.ask import what_if as what_if
    from routing.stages.due import due as due
    from routing.stages.due import feed as feed
    from routing.stages.plan import Wish as Wish
    from routing.stages.plan import plan as plan
    from routing.stages.plan import saved as saved
    from routing.stages.plan import sure_round as sure_round
    from routing.stages.read import farm_in as farm_in
    from routing.stages.share import Wanted as Wanted
    from routing.stages.share import share_round as share_round
    from routing.stages.write import write_plan as write_plan

_WHERE = {
    **dict.fromkeys(("OutyardError", "FarmError", "AskedError"), "routing.errors"),
    **dict.fromkeys(("Farm",), "routing.farm.models"),
    **dict.fromkeys(("FitAnswer", "Round"), "routing.round"),
    **dict.fromkeys(("farm_in",), "routing.stages.read"),
    **dict.fromkeys(("due", "feed"), "routing.stages.due"),
    **dict.fromkeys(("Wish", "plan", "saved", "sure_round"), "routing.stages.plan"),
    **dict.fromkeys(("Changes", "chance", "explain", "fit", "replan", "try_order", "what_if"), "routing.stages.ask"),
    **dict.fromkeys(("write_plan",), "routing.stages.write"),
    **dict.fromkeys(("Wanted", "share_round"), "routing.stages.share"),
    **dict.fromkeys(("plan_arrays",), "routing.planning.arrays"),
}
__getattr__ = things_of(__name__, _WHERE)
