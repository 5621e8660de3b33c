"""Whether the light will do, by a rough sum: it decides how engines are asked, and nothing else."""

from __future__ import annotations

import numpy as np

from routing.planning.engines.frame import NO_WAY, Frame, Kind, lay
from routing.planning.problem import NO_LIMIT, Problem


def contested(problem: Problem, tasks: frozenset[int]) -> int | None:
    """Return the first rank whose tasks, with those of the ranks before, need more light than all crews have.

    None where they do not, or where a rough sum cannot tell: each task counts with its work, and the way from the
    nearest other.
    """
    frame = lay(problem, tasks)
    if not frame.clients or not frame.kinds:
        return None
    light = sum(_light(frame, kind) * len(kind.routes) for kind in frame.kinds)
    firsts = np.array([clients[0] for clients in frame.clients_of_task.values()]) + 1
    service = np.array([frame.clients[number - 1].service for number in firsts])
    arcs = np.min(np.stack(frame.profiles), axis=0)[np.ix_(firsts, firsts)]
    np.fill_diagonal(arcs, NO_WAY)
    ranks = np.array([problem.tasks[task].rank for task in frame.clients_of_task])
    routes = sum(len(kind.routes) for kind in frame.kinds)
    for rank in sorted(set(ranks.tolist())):
        those = ranks <= rank
        if those.sum() <= routes:
            continue
        ways = np.sort(arcs[np.ix_(those, those)].min(axis=0))[: those.sum() - routes]  # the first of a day needs none
        if service[those].sum() + ways.sum() > light:
            return int(rank)
    return None


def bound_by_light(frame: Frame, kind: Kind) -> bool:
    """Return whether a day's light ends before its hours, so that ways from and to base mostly lie outside of it."""
    return _span(kind) >= _window(frame) + _ways(frame, kind)


def _light(frame: Frame, kind: Kind) -> int:
    """Return about how many seconds a day has from the first stop to the last."""
    return max(0, min(_window(frame), _span(kind) - _ways(frame, kind)))


def _span(kind: Kind) -> int:
    hours = kind.latest - kind.earliest
    return hours if kind.longest == NO_LIMIT else min(hours, kind.longest)


def _window(frame: Frame) -> int:
    return max(client.closes for client in frame.clients) - min(client.opens for client in frame.clients)


def _ways(frame: Frame, kind: Kind) -> int:
    """Return the mean way from base and back, in seconds."""
    arcs = frame.profiles[kind.profile]
    entries = np.array([client.entry for client in frame.clients])
    out, back = arcs[0, 1:] - entries, arcs[1:, 0]
    open_ = (arcs[0, 1:] < NO_WAY) & (back < NO_WAY)
    return int(np.mean(out[open_]) + np.mean(back[open_])) if open_.any() else 0
