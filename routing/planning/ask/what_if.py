"""What if: the farm with one thing or several changed for the plan, the folder left as it is."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from routing.errors import AskedError
from routing.farm.models import Crew, Farm
from routing.plain_words import count, minutes_words

_DAY = 24 * 3600


@dataclass(frozen=True)
class Changes:
    """What is changed; None or empty where it stays as it is."""

    start: dt.time | None = None
    """Earliest start of every crew."""
    earlier: int | None = None
    """By so many minutes sooner (or, below zero, later) every crew may start."""
    home_by: dt.time | None = None
    people: int | None = None
    """How many more (or, below zero, fewer) people in every crew."""
    vehicle: str | None = None
    """The vehicle of the first crew."""
    trips: int | None = None
    """How often every crew may leave base in a day."""
    without: tuple[str, ...] = ()
    """Sites that are not to be visited."""
    payload_kg: float | None = None
    """So much more (or, below zero, less) every vehicle may carry."""
    slower: float | None = None
    """By so many per cent all work at the hives is slower (or, below zero, quicker)."""

    def alone(self) -> Iterator[tuple[str, Changes]]:
        """Yield each change by itself with its words."""
        if self.start is not None:
            yield f"start at {self.start:%H:%M}", Changes(start=self.start)
        if self.earlier:
            which = "earlier" if self.earlier > 0 else "later"
            yield f"start {minutes_words(abs(self.earlier))} {which}", Changes(earlier=self.earlier)
        if self.home_by is not None:
            yield f"home by {self.home_by:%H:%M}", Changes(home_by=self.home_by)
        if self.people is not None:
            yield (
                f"{self.people:+d} {'person' if abs(self.people) == 1 else 'people'} a crew",
                Changes(people=self.people),
            )
        if self.vehicle is not None:
            yield f"with {self.vehicle}", Changes(vehicle=self.vehicle)
        if self.trips is not None:
            yield f"{count(self.trips, 'trip')} a day", Changes(trips=self.trips)
        for site in self.without:
            yield f"without {site}", Changes(without=(site,))
        if self.payload_kg:
            which = "more" if self.payload_kg > 0 else "less"
            yield f"{abs(self.payload_kg):g} kg {which} payload", Changes(payload_kg=self.payload_kg)
        if self.slower:
            which = "slower" if self.slower > 0 else "quicker"
            yield f"work {abs(self.slower):g} % {which}", Changes(slower=self.slower)


def changed(farm: Farm, changes: Changes) -> Farm:
    """Return the farm as it would be.

    Raises AskedError for an unknown site or vehicle, a crew of nobody, a start on another day or a vehicle that carries
    nothing.
    """
    unknown = sorted(set(changes.without) - {site.id for site in farm.sites})
    if unknown:
        raise AskedError(f'site "{unknown[0]}" is not in {farm.tables.sites}')
    if changes.vehicle is not None and changes.vehicle not in farm.vehicles:
        raise AskedError(f'vehicle "{changes.vehicle}" is not in farm.toml; there are: {", ".join(farm.vehicles)}')
    crews = tuple(_crew(crew, changes, first=number == 0) for number, crew in enumerate(farm.crews))
    jobs = tuple(job for job in farm.jobs if not {job.site, job.to} & set(changes.without))
    more = changes.payload_kg or 0
    light = [vehicle.name for vehicle in farm.vehicles.values() if vehicle.payload_kg + more <= 0]
    if light:
        raise AskedError(f"{light[0]} would carry nothing")
    vehicles = {
        name: vehicle.model_copy(update={"payload_kg": vehicle.payload_kg + more})
        for name, vehicle in farm.vehicles.items()
    }
    return farm.model_copy(update={"crews": crews, "jobs": jobs, "vehicles": vehicles})


def _crew(crew: Crew, changes: Changes, *, first: bool) -> Crew:
    people = crew.people + (changes.people or 0)
    if people < 1:
        raise AskedError(f'crew "{crew.id}" would have nobody in it')
    return crew.model_copy(
        update={
            "earliest_start": sooner(changes.start or crew.earliest_start, changes.earlier or 0),
            "home_by": changes.home_by or crew.home_by,
            "people": people,
            "vehicle": changes.vehicle if first and changes.vehicle else crew.vehicle,
            "trips_a_day": changes.trips or crew.trips_a_day,
            "pace": crew.pace * (1 + (changes.slower or 0) / 100),
        }
    )


def sooner(clock: dt.time, minutes: int) -> dt.time:
    """Return a time of day so many minutes sooner. Raises AskedError where that is another day."""
    seconds = clock.hour * 3600 + clock.minute * 60 + clock.second - 60 * minutes
    if not 0 <= seconds < _DAY:
        raise AskedError(f"{minutes_words(abs(minutes))} from {clock:%H:%M} is another day")
    return dt.time(seconds // 3600, seconds // 60 % 60, seconds % 60)
