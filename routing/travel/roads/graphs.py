"""Graphs of roads and ways on foot. networkx takes a third of a second to import: whoever needs it asks the package."""

from __future__ import annotations

from collections.abc import Iterable

import networkx as nx


def strong_components(edges: Iterable[tuple[int, int]]) -> list[set[int]]:
    """Return groups of nodes that lead to each other and back, the largest first, of the same size by least number."""
    groups = nx.strongly_connected_components(nx.DiGraph(edges))
    return sorted(groups, key=lambda group: (-len(group), min(group)))


def distances(edges: Iterable[tuple[int, int, float]], start: int) -> dict[int, float]:
    """Return the length of the shortest way from `start` to each node that can be reached, itself among them.

    Ways lead both ways. Nothing can be reached from a node that no way leads to.
    """
    graph = nx.Graph()
    graph.add_weighted_edges_from(edges)
    if start not in graph:
        return {}
    found: dict[int, float] = nx.single_source_dijkstra_path_length(graph, start)
    return found
