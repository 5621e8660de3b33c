"""What a round says in place of a sentence that did not hold: a fault of the program, told and left away."""

from __future__ import annotations

from routing.round import LeftOut, ReasonCode, Round

TAKEN_OUT = "left out because of a fault of the program, see faults"
"""The words of an entry whose jobs were planned in a day that did not hold."""

NOT_KNOWN = "why is not known because of a fault of the program, see faults"
"""The words of an entry whose reason did not hold."""

REPORT = "Please report it with the farm folder."

STILL_FITS = "that still fits"
"""Stands in a fault that tells of a visit that could have been planned."""


def fault_told(round_: Round, left: LeftOut, about: str = "") -> bool:
    """Whether the round tells of a fault at the site of this entry, with these words in it."""
    return any((left.name or left.site) in fault and about in fault for fault in round_.faults)


def excused(round_: Round, left: LeftOut) -> bool:
    """Whether the entry says nothing of its own but that a fault kept it, and the round tells of that fault."""
    silent = left.insertion is None and not left.remedies and left.reason is ReasonCode.NO_ROOM
    return silent and left.text in {TAKEN_OUT, NOT_KNOWN} and fault_told(round_, left)
