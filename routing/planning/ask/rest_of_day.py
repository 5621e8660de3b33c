"""The rest of a day: from where the crew stands, at what time, with what is done and what is on the van.

The crew's first drive starts where it stands instead of at base; everything else is planned and checked as always.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from routing.errors import AskedError
from routing.farm.models import Farm, Job, Underway
from routing.travel.legs import LegRoute, Legs, RouteSource

HERE = "here"
"""The id of a place that is no site, last in the legs."""


def rest_of_day(
    farm: Farm, crew_id: str, underway: Underway, done: Sequence[str], on_board: Mapping[str, float] | None
) -> Farm:
    """Return the farm for the rest of the day: one crew, out already, what is done taken away, the van as the store.

    The crew goes home at the end and not before, since the van as it is cannot be loaded at base.

    `done` names sites (all their jobs) or `site:kind`. `on_board` is in units of each material, and what it does not
    name is not there; None means that enough of everything is on board. Raises AskedError for an unknown name.
    """
    crew = next((one for one in farm.crews if one.id == crew_id), None)
    if crew is None:
        raise AskedError(f'crew "{crew_id}" is not in farm.toml')
    left = list(farm.jobs)
    for name in done:
        rest = [job for job in left if not _is(job, name)]
        if name not in {site.id for site in farm.sites} and len(rest) == len(left):
            raise AskedError(f'"{name}" is no site of {farm.tables.sites}, and no site:kind of the jobs for that day')
        left = rest
    unknown = sorted(set(on_board or ()) - farm.materials.keys())
    if unknown:
        raise AskedError(f'"{unknown[0]}" is no material; there are: {", ".join(sorted(farm.materials))}')
    stock = {} if on_board is None else {material: on_board.get(material, 0.0) for material in farm.materials}
    return farm.model_copy(
        update={
            "jobs": tuple(left),
            "stock": stock,
            "base": farm.base.model_copy(update={"loading_minutes": 0.0}),
            "crews": (crew.model_copy(update={"earliest_start": underway.at, "trips_a_day": 1}),),
            "underway": underway,
        }
    )


def from_here(legs: Legs, here: int) -> Legs:
    """Return the legs with the drives out of the base replaced by those out of the place in row `here`.

    The base is still come home to. A last place `HERE`, which is no site, is dropped.
    """

    def moved(one: Legs) -> Legs:
        size = len(one.places) - (one.places[-1] == HERE)
        seconds, metres = np.array(one.seconds), np.array(one.metres)
        seconds[0], metres[0] = seconds[here], metres[here]
        origins = (one.origins[here], *one.origins[1:])
        return replace(
            one,
            routes=_NotFromBase(one.routes) if one.routes else None,
            places=one.places[:size],
            seconds=seconds[:size, :size],
            metres=metres[:size, :size],
            origins=tuple(row[:size] for row in origins[:size]),
        )

    by_vehicle = {vehicle: moved(one) for vehicle, one in legs.by_vehicle.items()}
    return replace(moved(legs), by_vehicle=by_vehicle)


@dataclass(frozen=True)
class _NotFromBase:
    """The ways of the legs, but for those out of the base, which begin elsewhere now."""

    routes: RouteSource

    def route(self, start: int, end: int) -> LegRoute:
        return self.routes.route(start, end) if start else LegRoute("", ())


def _is(job: Job, name: str) -> bool:
    return name in {job.site, f"{job.site}:{job.kind}"}
