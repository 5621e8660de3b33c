"""Where the legs of a whole farm come from: its road map, else straight-line estimates; known drives override both."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from routing import travel
from routing.farm.models import BASE, Farm, Place
from routing.travel.background import Background
from routing.travel.legs import MOST_WIDE, Legs, Parked
from routing.travel.straight import direct_is_quickest, legs_from_first, straight_line_legs
from routing.travel.walks import straight_walks


def prepare_roads(farm: Farm, progress: Callable[[str, float], None]) -> None:
    """Build the farm's road map where it has one that is not built yet, telling what is done and its share, 0 to 1.

    Raises RoadError where the map cannot be used.
    """
    if farm.road_map is not None:
        travel.roads.farm.open_roads(farm, progress)


def farm_and_legs(farm: Farm) -> tuple[Farm, Legs]:
    """Return the farm as it is planned, and its legs as `farm_legs` says.

    On a road map, a site that gives no walking minutes of its own gets those from where the vehicle stops; without
    one, only a site that names its own stopping place. Raises RoadError.
    """
    if farm.road_map is None:
        return _straight(farm)
    roads = travel.roads.farm.open_roads(farm)
    return travel.roads.farm.with_walks(roads), _with_known(travel.roads.farm.road_legs(roads), farm)


def _straight(farm: Farm) -> tuple[Farm, Legs]:
    """Return the farm with walks from the sites' own stopping places, and the straight-line legs between all stops."""
    parked = {site.id: Parked(site.parking, "") for site in farm.sites if site.parking is not None}
    walked, told = straight_walks(farm)
    return walked, _with_known(
        replace(straight_line_legs(_stopping_places(farm), farm.rules), parked=parked, notes=told), farm
    )


def farm_and_base_legs(farm: Farm) -> tuple[Farm, Legs] | None:
    """Return the farm as it is planned, and its drives from base and home alone, which take no time to make.

    None where more is needed to know the quickest way to a site and home: where there is a road map or a known drive,
    or a longer way may be estimated quicker.
    """
    if not _direct_is_quickest(farm):
        return None
    return straight_walks(farm)[0], legs_from_first(_stopping_places(farm), farm.rules)


def with_needed_sites(farm: Farm) -> Farm:
    """Return a farm of many sites with only those that a job names; itself where others may lie on a quicker way."""
    if len(farm.sites) <= MOST_WIDE or not _direct_is_quickest(farm):
        return farm
    named = {end for job in farm.jobs for end in (job.site, job.to)}
    return farm.model_copy(update={"sites": tuple(site for site in farm.sites if site.id in named)})


def _direct_is_quickest(farm: Farm) -> bool:
    """Return whether no way by another place is quicker than the direct one, as far as that is known without drives."""
    return farm.road_map is None and not farm.known_drives and direct_is_quickest(farm.rules)


def _stopping_places(farm: Farm) -> list[tuple[str, Place]]:
    """Return base and the farm's sites, each with where a vehicle stops there."""
    return [(BASE, farm.base.place), *((site.id, site.parking or site.place) for site in farm.sites)]


def farm_legs(farm: Farm) -> Legs:
    """Return the legs between the base (id `BASE`, first) and all sites in their order.

    From the road map where the farm names one, else straight-line estimates; the farmer's known drives in place of
    either. Raises RoadError where the map cannot be used.
    """
    return farm_and_legs(farm)[1]


def _with_known(legs: Legs, farm: Farm) -> Legs:
    if not farm.known_drives:
        return legs
    known = travel.known.with_known_drives
    by_vehicle = {vehicle: known(own, farm.known_drives) for vehicle, own in legs.by_vehicle.items()}
    return replace(known(legs, farm.known_drives), by_vehicle=by_vehicle)


def farm_road_report(farm: Farm) -> tuple[str, ...]:
    """Return what the road map covers and how the farm lies on it, a line each. Raises RoadError."""
    if farm.road_map is None:
        return ("farm.toml names no road map: drive times are straight-line estimates. See maps/README.md.",)
    return travel.roads.report.report(farm)


def farm_background(farm: Farm, places: tuple[Place, ...]) -> Background | None:
    """Return the roads around some places, None where the farm has no road map. Raises RoadError."""
    if farm.road_map is None or not places:
        return None
    return travel.roads.farm.roads_around(farm, places)
