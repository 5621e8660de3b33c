"""Texts that could come alive in one file format or another, each with a part that must still be readable."""

from __future__ import annotations

from routing.round import Round
from tests.share.sample import HOSTILE, SEEN, hostile_round, sample_round

TEXTS = {
    "markup": (HOSTILE, SEEN),
    "formula": ("=cmd|' /C calc'!A0", "cmd|' /C calc'!A0"),
    "formula after a separator": ("Park;=1+1;@SUM(A1)", "1+1"),
    "wide formula": ("\uff1d1+1", "1+1"),
    "calendar lines": ("Gate\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:1;,\\n:", "BEGIN:VEVENT UID:1"),
    "XML": ("]]><!--<!DOCTYPE x [<!ENTITY e SYSTEM 'file:///etc/passwd'>]>&e;&#0;", "<!ENTITY e SYSTEM"),
    "emoji": ("\U0001f469\u200d\U0001f33e\U0001f41d \u00e9", "\U0001f41d \u00e9"),
    "turned": ("gate \u202e1234\u202c \u2066x\u2069\u200f", "gate 1234 x"),
    "controls": ("a\x00b\x1b[31mc\x7f\x85d\u2028e\ufffe", "a\ufffdb"),
    "long": ("W" * 10_000, "W" * 90),
}


def rounds() -> list[tuple[str, Round, str]]:
    """Return each text's name, a round with it in every field that is text, and what must be readable."""
    return [(name, hostile_round(text), seen) for name, (text, seen) in TEXTS.items()]


def broken_round() -> Round:
    """Return a round whose first stop's name and notes hold half of a character, as only a program's fault could."""
    whole = sample_round()
    day = whole.itineraries[0]
    stop = day.stops[0].model_copy(update={"name": "Half \ud800 char", "notes": "\udfff note"})
    first = day.model_copy(update={"stops": (stop, *day.stops[1:])})
    return whole.model_copy(update={"itineraries": (first, *whole.itineraries[1:])})
