"""The legs of a whole farm when no road map is given."""

from __future__ import annotations

from routing.farm.models import BASE, Farm
from routing.travel.legs import Legs
from routing.travel.straight import straight_line_legs


def farm_legs(farm: Farm) -> Legs:
    """Return the legs between the base (id `BASE`, first) and all sites in their order.

    Straight-line estimates, with the farmer's known drives in place of them where there are any.
    """
    places = [(BASE, farm.base.place), *((site.id, site.place) for site in farm.sites)]
    legs = straight_line_legs(places, farm.rules)
    if not farm.known_drives:
        return legs
    # networkx takes a third of a second to import: only a farm with known drives pays.
    from routing.travel.known import with_known_drives  # noqa: PLC0415

    return with_known_drives(legs, farm.known_drives)
