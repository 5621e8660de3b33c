"""An id for a site that was given none: a short word made of its name."""

from __future__ import annotations

import re

from routing.farm.models import BASE
from routing.farm.values import LONGEST_ID

_ROOM = 6
"""Letters that are left for a number behind the word."""


def id_made_of(name: str, number: int, taken: set[str]) -> str:
    """Return an id made of a name, or of a number where that has no letter, and add it to those that are taken.

    `taken` are ids in lower case, none of which it is.
    """
    stem = "-".join(re.findall(r"\w+", name.casefold()))[: LONGEST_ID - _ROOM].strip("-_") or f"site-{number}"
    found, count = stem, 1
    while found in taken or found == BASE:
        count += 1
        found = f"{stem}-{count}"
    taken.add(found)
    return found
