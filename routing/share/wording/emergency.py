"""The emergency card: whom to call, what to say, and where each site's vehicle access is, to be read out.

It is a reminder to have at hand and no training in first aid; it defers to what the person on the phone says.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from routing.round import Itinerary, Round
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording.sheet_crew import CrewSheet
from routing.share.wording.stands import Spot, spots_of

ACCESS = (
    "Where a stop has two places, the vehicle stops at the first and the hives stand at the second. "
    "Where it has one, that is the place as the farm wrote it down; the hives may be a walk from there."
)


@dataclass(frozen=True)
class Access:
    """Where a vehicle gets to one site, or the base."""

    mark: str
    """The stop's mark, or empty for the base."""
    name: str
    spots: tuple[Spot, ...]
    """Where the vehicle stops, and where the hives are if that is told apart."""
    walk: str
    """How far the hives are from there, or empty."""


@dataclass(frozen=True)
class EmergencyCard:
    """`number` is shown; `dial` is what a link may call, empty where the number is not one to dial."""

    number: str
    dial: str
    say: tuple[str, ...]
    places: tuple[Access, ...]


def emergency_card(round_: Round, itinerary: Itinerary, crew: CrewSheet) -> EmergencyCard:
    """Return the card of one crew's day, the stops in their order and the base last."""
    number = plain_text(round_.emergency_number, 40) or "the emergency number"
    places = [
        Access(
            mark=shown.mark,
            name=plain_name(stop.name),
            spots=spots_of(stop),
            walk=next((line for line in shown.details if line.startswith("Walk ")), ""),
        )
        for stop, shown in zip(itinerary.stops, crew.stops, strict=True)
        if stop.load_again is None
    ]
    at_base = Spot("", "", round_.base_latitude, round_.base_longitude)
    base = Access(mark="", name=plain_name(f"Base: {plain_name(round_.base_name)}"), spots=(at_base,), walk="")
    return EmergencyCard(number, dialable(number), _say(number), (*places, base))


def dialable(number: str) -> str:
    """Return the number as a `tel:` link holds it, or an empty text where it is not only a number.

    Source: RFC 3966, section 3: digits, with a plus before a global number.
    """
    digits = re.sub(r"[ ().-]", "", number)
    return digits if re.fullmatch(r"\+?[0-9]{2,15}", digits) else ""


def _say(number: str) -> tuple[str, ...]:
    return (
        # Source: NHS text on anaphylaxis as reprinted by Meridian Beekeepers, October 2020 (call, say "anaphylaxis");
        # the map reference and the way in: advice of several beekeepers' associations; else common practice, no source.
        f'Call {number}: an ambulance. After a sting, trouble breathing, swelling or faintness: say "anaphylaxis".',
        "Say how many are hurt, whether they are awake and breathing, and that there are bees.",
        "Read out the place below: grid reference, then coordinates. Say how a vehicle gets in and how far to walk.",
        "Say the number that you call from. Do as you are told, and do not hang up first.",
        "Send someone to the gate if anyone can be spared, with lights on.",
        # From memory, not checked: phones may use any operator's network for an emergency call where they find one.
        "No signal shown? Call all the same: it may go over another network. Else go to higher ground.",
    )
