"""Moves of hives in words and metres: how far, and what to beware of when that is neither near nor far enough."""

from __future__ import annotations

from routing.farm.models import Farm, Job
from routing.travel.straight import geodesic_metres

METRES_PER_MILE = 1609.344
"""Source: international yard and pound agreement of 1959 (exact)."""


def distance_cautions(farm: Farm, job: Job) -> tuple[str, ...]:
    """Return the caution that foragers will fly back from the new stand, where it is so far that they do."""
    near, far = farm.rules.move_nearer_than_metres, farm.rules.move_farther_than_km
    if not job.to or near is None or far is None:
        return ()
    old, new = farm.site(job.site), farm.site(job.to)
    metres = float(geodesic_metres([old.place], [new.place])[0])
    if metres < near.value or metres > far.value * 1000:
        return ()
    km, miles = metres / 1000, metres / METRES_PER_MILE
    caution = (
        f"Distance: {old.name} to {new.name} is {km:.1f} km ({miles:.1f} miles) in a straight line. Foragers fly back "
        f"to the old stand from more than {near.value:g} m and less than {far.value:g} km ({far.source}). Move the "
        f"hives by way of a site more than {far.value:g} km from both, and leave them there for 3 to 4 weeks."
    )
    return (caution,)
