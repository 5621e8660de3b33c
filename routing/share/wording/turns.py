"""What to do where on each drive of a round, for who asks for it.

Street names come from a road map that anyone may edit: they go through the same cleaning as the farmer's own texts.
"""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from routing.round import Drive, Round
from routing.share.safety.safe import plain_text
from routing.share.wording.words import distance, duration

NOT_KNOWN = "no turns are known for this drive"


def turn_lines(round_: Round) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return a heading for each drive, in order, and its turns; one sentence instead where none are known."""
    found = []
    for itinerary in round_.itineraries:
        before = round_.base_name
        for number, stop in enumerate(itinerary.stops, start=1):
            found.append(_drive(round_, stop.drive, f"{number}. {before} to {stop.name}"))
            before = stop.name
        found.append(_drive(round_, itinerary.drive_home, f"Home: {before} to {round_.base_name}"))
    return tuple(found)


def print_turns(round_: Round, console: Console) -> None:
    """Print the turns of every drive to `console`."""
    console.print()
    console.print(Text("Turns", style="bold"))
    for heading, turns in turn_lines(round_):
        console.print(Text(heading, style="bold"))
        for turn in turns:
            console.print(Text(f"    {turn}"))


def _drive(round_: Round, drive: Drive, where: str) -> tuple[str, tuple[str, ...]]:
    heading = f"{plain_text(where)}: {duration(drive.seconds)}, {distance(drive.metres, round_.units)}"
    return heading, tuple(plain_text(turn) for turn in drive.turns) or (NOT_KNOWN,)
