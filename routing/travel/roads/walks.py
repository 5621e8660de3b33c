"""Walks from where the vehicle is left to the hives, as the road map has them: how long, and in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from routing.farm.models import Drives, Farm, RoadRules, Site
from routing.travel.roads.snap import Snap
from routing.travel.walks import SHORTEST_TOLD, walking_minutes

Stops = Mapping[Drives, tuple[Snap, ...]]
"""Where each sort of vehicle stops: for the base first, then for the sites in order."""


def walked(farm: Farm, rules: RoadRules, stops: Stops) -> Farm:
    """Return the farm with walking minutes, from where the vehicle stops, at each site that gives none of its own."""
    found = {site.id: walking_minutes(snap.walk_metres, rules) for site, snap in _longest(farm, stops)}
    sites = tuple(
        site.model_copy(update={"walking_minutes": found[site.id]})
        if site.id in found and site.walking_minutes == 0
        else site
        for site in farm.sites
    )
    return farm.model_copy(update={"sites": sites})


def walk_notes(farm: Farm, rules: RoadRules, stops: Stops) -> tuple[str, ...]:
    """Return what of the walks is an estimate, and where the map knows no way, a sentence each."""
    told = []
    for site, snap in _longest(farm, stops):
        unknown = snap.barred and not snap.by_ways
        if site.walking_minutes > 0:
            if unknown:
                told.append(
                    f"For the walk to {site.name} the map knows no way over {snap.barred}: "
                    "its minutes are what the farm says."
                )
        elif unknown or walking_minutes(snap.walk_metres, rules) >= SHORTEST_TOLD:
            start = " from where the vehicle stops"
            told.append(f"The walk to {site.name} is estimated: {walk_words(site, snap, rules, start)}.")
    return tuple(told)


def walk_words(site: Site, snap: Snap, rules: RoadRules, start: str = "") -> str:
    """Return how far the hives are from where the vehicle stops, which way they are reached, and the minutes."""
    if snap.by_ways:
        way = f"by the map's ways, because {snap.barred} lies between"
    elif snap.barred:
        way = f"in a straight line, although {snap.barred} lies between and the map knows no way over it"
    else:
        way = "straight over open ground"
    minutes = f"{walking_minutes(snap.walk_metres, rules):g} min each way"
    if site.walking_minutes > 0:
        minutes = f"{site.walking_minutes:g} min each way as the farm says"
    return f"{snap.walk_metres:.0f} m{start}, {way}, {minutes}"


def _longest(farm: Farm, stops: Stops) -> Iterator[tuple[Site, Snap]]:
    """Yield each site that a vehicle can stop for, with the longest walk of the vehicles that may go there."""
    for number, site in enumerate(farm.sites, start=1):
        going = [v for v in farm.vehicles.values() if not site.vehicle_needed or site.vehicle_needed in v.reaches]
        near = [snap for vehicle in going if (snap := stops[vehicle.drives][number]).road is not None]
        if near:
            yield site, max(near, key=lambda snap: snap.walk_metres)
