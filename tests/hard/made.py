"""The days of a round as the oracle knows them."""

from __future__ import annotations

from dataclasses import dataclass

from routing.round import Itinerary, Round
from tests.hard.complaint import clock
from tests.hard.oracle import Oracle
from tests.hard.outing import Outing
from tests.hard.world import Call


@dataclass(frozen=True)
class Made:
    """A crew's day as it is shown: its stops for work, and before which of them base is come back to."""

    itinerary: Itinerary
    outing: Outing
    calls: tuple[Call, ...]
    cuts: tuple[int, ...]

    @property
    def mask(self) -> int:
        """The jobs done."""
        return sum(call.jobs for call in self.calls)


def made_of(round_: Round, oracle: Oracle) -> list[Made]:
    """Return the crew-days of a round as the oracle knows them. Raises LookupError for a day or window it does not know."""
    return [_made(itinerary, oracle) for itinerary in round_.itineraries]


def _made(itinerary: Itinerary, oracle: Oracle) -> Made:
    outing = next(
        (one for one in oracle.outings if (one.day.crew.id, one.day.date) == (itinerary.crew, itinerary.date)), None
    )
    if outing is None:
        raise LookupError(f"crew {itinerary.crew} is not out on {itinerary.date}")
    world = oracle.world
    calls: list[Call] = []
    cuts: list[int] = []
    for stop in itinerary.stops:
        if stop.load_again is not None:
            cuts.append(len(calls))
        elif stop.set_down is None:
            mask = world.mask(job.id for job in stop.jobs)
            span_ = (world.at(stop.window_opens), world.at(stop.window_closes))
            call = next((one for one in outing.calls if one.jobs == mask and (one.opens, one.closes) == span_), None)
            if call is None:
                zone = world.zone
                shown = f"{clock(span_[0], zone)} to {clock(span_[1], zone)}"
                raise LookupError(f"{stop.site} has no window {shown} for {[job.id for job in stop.jobs]}")
            calls.append(call)
    return Made(itinerary, outing, tuple(calls), tuple(cuts))
