"""What makes the linear programme over walks tighter once its prices have settled: more memory, and subset-row cuts.

Walks that come back to a task are part of its answer where that was forgotten on the way; from then on those in between
remember it. Source: R. Roberti, A. Mingozzi, "Dynamic ng-path relaxation for the delivery man problem", Transportation
Science 48 (2014), from memory, not checked.
"""

from __future__ import annotations

import numpy as np
from ortools.math_opt.python import mathopt

from routing.planning.bounds.cuts import SLACK, passed_by
from routing.planning.bounds.restricted_master import WalkChoice
from routing.planning.bounds.walks import Walk
from routing.planning.labelling.memory import WORD


def remember_more(choice: WalkChoice) -> bool:
    """Make walks remember what those taken came back to, and drop those that did; return whether there were any."""
    again = [(group, walk) for group, walk, _ in _taken(choice) if len(set(walk.tasks)) < len(walk.tasks)]
    for group, walk in again:
        choice.priced[group].remember(walk.tasks)
    choice.drop([walk for group, walk in choice.walks if not choice.priced[group].allows(walk.tasks)])
    return bool(again)


def cut(choice: WalkChoice, most: int) -> bool:
    """Add up to so many cuts that the programme's answer passes, as far as there is room; return whether any."""
    known = {each.tasks for each in choice.cuts}
    walks = [(walk.tasks, value) for _, walk, value in _taken(choice)]
    new = [each for each in passed_by(walks, most + len(known)) if each.tasks not in known]
    new = new[: min(most, WORD - len(choice.cuts))]
    choice.add_cuts(new)
    return bool(new)


def _taken(choice: WalkChoice) -> list[tuple[int, Walk, float]]:
    """Return the walks of the programme's answer, each of a group, and how much of each is taken."""
    answer = mathopt.solve(choice.model, mathopt.SolverType.GLOP)
    if not answer.has_primal_feasible_solution():
        return []
    values = np.array(answer.variable_values(choice.variables))
    return [(*choice.walks[at], float(values[at])) for at in np.flatnonzero(values > SLACK).tolist()]
