"""What is private of the sites of a round, in words, for whoever asked to see it."""

from __future__ import annotations

from routing.round import Round
from routing.share.safety.private import Private
from routing.share.safety.safe import plain_name, plain_text


def private_lines(round_: Round, private: Private) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return each site of a round that has something private, in the order of its stops, with a line for each."""
    names = {stop.site: stop.name for day in round_.itineraries for stop in day.stops}
    found = []
    for site, name in names.items():
        if site in private:
            one = private[site]
            told = (("Gate code", one.gate_code), ("Phone", one.phone), ("Private note", one.notes))
            found.append((plain_name(name), tuple(f"{what}: {plain_text(text)}" for what, text in told if text)))
    return tuple(found)
