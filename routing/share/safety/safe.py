"""Text from users made fit to be shown: one line, no control characters, nothing that turns the reading direction.

This is the first of two steps. The second is the escaping of each medium (HTML, Markdown, terminal markup), which every
output does itself, after this one: taking a mark away here can join two halves of a tag, and the escaping then sees it.
"""

from __future__ import annotations

import unicodedata

NAME_LONGEST = 100
"""Characters of a name that are shown; the saved JSON holds all of them."""

TEXT_LONGEST = 2000
"""Characters of a note or a sentence that are shown."""

_JOINERS = "\u200c\u200d"  # Persian, Indic scripts and many emoji cannot be spelled without them
_REPLACEMENT = "\ufffd"


def plain_text(text: str, longest: int = TEXT_LONGEST) -> str:
    """Return `text` on one line of at most `longest` characters, with nothing in it that acts instead of showing.

    Line breaks, tabs and runs of spaces become one space. Other control characters (so every ANSI sequence), lone
    surrogates and unassigned code points become U+FFFD, so that a person sees that something was there. Invisible
    format characters, among them all bidirectional overrides, isolates and marks, are dropped, but for the two joiners.
    A text that is cut ends with an ellipsis. Source of the classes: Unicode Standard Annex 44, General_Category.
    """
    begun = text[: 4 * longest]
    plain = begun if begun.isascii() and begun.isprintable() else "".join(map(_plain, begun))
    shown = " ".join(plain.split())
    if len(shown) > longest or len(text) > 4 * longest:
        return shown[: longest - 1].rstrip() + "…"
    return shown


def plain_name(text: str) -> str:
    """Return `plain_text` cut to the length of a name, or a dash where nothing of it can be seen."""
    return plain_text(text, NAME_LONGEST) or "-"


def _plain(letter: str) -> str:
    if letter.isspace():
        return " "
    if letter in _JOINERS:
        return letter
    category = unicodedata.category(letter)
    if category == "Cf":
        return ""
    return _REPLACEMENT if category in {"Cc", "Cs", "Cn", "Co"} else letter
