"""Where a crew's vehicle stops for a site, as the legs have it."""

from __future__ import annotations

from routing.planning.model.instance import Instance
from routing.round import StoppingPlace


def stopping_place(instance: Instance, route: int, site: str) -> StoppingPlace | None:
    """Return where the crew's vehicle stops for a site, None where the legs do not tell it."""
    parked = instance.legs.of(instance.crews[route].vehicle).parked.get(site)
    if parked is None:
        return None
    return StoppingPlace(latitude=parked.place.latitude, longitude=parked.place.longitude, road=parked.road)
