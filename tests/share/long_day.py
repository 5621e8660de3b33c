"""A day of any number of stops, made of the sample's own: what pages must hold."""

from __future__ import annotations

from itertools import cycle, islice

from routing.round import CallIn, Round
from tests.share.sample import alder, numbered, rowan, sample_round


def long_day(stops: int) -> Round:
    """Return one lone crew's day of so many stops, each with one job and a note, and a call for every two stops."""
    day, lone = alder(), rowan()
    found = []
    for number, stop in enumerate(islice(cycle(day.stops), stops), start=1):
        found.append(
            stop.model_copy(
                update={
                    "number": number,
                    "site": f"s{number}",
                    "name": f"Field {number} by the weir",
                    "latitude": stop.latitude + 0.011 * ((number - 1) // len(day.stops)),
                    "longitude": stop.longitude + 0.013 * ((number - 1) % 5),
                    "jobs": tuple(job.model_copy(update={"id": f"{job.id}-{number}"}) for job in stop.jobs[:1]),
                    "notes": "Gate sticks: lift it, and shut it",
                    "rest": None,
                    "last_of_day": False,
                }
            )
        )
    calls = tuple(CallIn(by=each.finish, where=each.name) for each in found[::2])
    whole = day.model_copy(update={"stops": tuple(found), "people": lone.people, "call_ins": calls})
    return numbered(sample_round(itineraries=(whole,)))
