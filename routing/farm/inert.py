"""Text made fit for a screen: what would act instead of showing is written as an escape, the rest stays as it is.

Control characters (of both sets, so every escape sequence), marks that turn the reading direction, characters without
a width, lone surrogates and unassigned code points. Source of the classes: Unicode Standard Annex 44, General_Category.
"""

from __future__ import annotations

import unicodedata

TWO_UNITS = 0x10000
"""The first code point that needs two numbers of 16 bits."""
UNSEEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
"""Unicode categories that a screen does not show as they are."""


def escaped(character: str) -> str:
    """Return one character, as an escape where a screen does not show it as it is."""
    if unicodedata.category(character) not in UNSEEN:
        return character
    return character.encode("unicode_escape").decode("ascii")


def inert(text: str) -> str:
    """Return lines of text with nothing in them that acts on a screen; only line feeds stay."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(letter if letter == "\n" else escaped(letter) for letter in text)


def inert_json(text: str) -> str:
    """Return a JSON document that means the same, with nothing in it that acts on a screen.

    Between its texts JSON holds none of these characters but line feeds, so each may be written as JSON's own escape.
    """
    return "".join(letter if letter == "\n" else _json_escaped(letter) for letter in text)


def _json_escaped(character: str) -> str:
    if character.isascii() and character.isprintable():
        return character
    if unicodedata.category(character) not in UNSEEN:
        return character
    return "".join(f"\\u{unit:04x}" for unit in _units(ord(character)))


def _units(point: int) -> tuple[int, ...]:
    """Return a code point as one or two numbers of 16 bits. Source: RFC 8259, section 7."""
    if point < TWO_UNITS:
        return (point,)
    return 0xD800 + (point - TWO_UNITS >> 10), 0xDC00 + (point - TWO_UNITS & 0x3FF)
