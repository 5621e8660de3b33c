"""Where the vehicle stops for a stop and where the hives stand, each under its name."""

from __future__ import annotations

from dataclasses import dataclass

from routing.farm.models import Place
from routing.farm.place_to_grid import grid_reference
from routing.round import Stop
from routing.share.safety.geo import coordinates
from routing.share.safety.positions import geo_uri
from routing.share.safety.safe import plain_name

VAN, HIVES = "Van stops", "Hives"


@dataclass(frozen=True)
class Spot:
    """One point of a stop; `label` is empty where only the site's place is known, for vehicle and hives alike."""

    label: str
    road: str
    """The road that the vehicle stops on, plain; empty for hives and where it is not known."""
    latitude: float
    longitude: float

    @property
    def grid(self) -> str:
        """The grid reference, empty where neither the British nor the Irish grid reaches."""
        return grid_reference(Place(latitude=self.latitude, longitude=self.longitude))

    @property
    def coordinates(self) -> str:
        """Latitude and longitude as they are read out."""
        return coordinates(self.latitude, self.longitude)

    @property
    def link(self) -> str:
        """The `geo:` link."""
        return geo_uri(self.latitude, self.longitude)

    @property
    def words(self) -> str:
        """What is told of it on one line: `Van stops: Mill Lane, 52.22050, -2.91050`, or the coordinates alone."""
        told = ", ".join(part for part in (self.road, self.coordinates) if part)
        return f"{self.label}: {told}" if self.label else told


def spots_of(stop: Stop) -> tuple[Spot, ...]:
    """Return where the vehicle stops and then where the hives are; one spot without a name where that is not told."""
    told = stop.stopping_place
    if told is None:
        return (Spot("", "", stop.latitude, stop.longitude),)
    road = plain_name(told.road) if told.road else ""
    return (Spot(VAN, road, told.latitude, told.longitude), Spot(HIVES, "", stop.latitude, stop.longitude))
