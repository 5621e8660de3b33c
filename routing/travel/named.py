"""Places that are found by their names, and which of many are meant."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from routing.farm.location import kilometres
from routing.farm.models import Place

MOST_FOUND = 20
_ORDER = (
    *("town", "city", "village", "hamlet", "suburb", "farm", "house", "locality", "neighbourhood"),
    *("orchard", "field", "meadow", "wood", "heath", "hill", "church", "inn", "school", "station", "street"),
)


@dataclass(frozen=True)
class Named:
    """A name, what bears it in a word (`village`, `farm`, `street`), and where."""

    name: str
    kind: str
    place: Place


def search(names: Iterable[Named], words: str, near: Place) -> list[Named]:
    """Return what the words may mean, at most 20: a whole name first, then names that begin so, then those with all.

    Case, accents and punctuation do not count; each word may be cut short. Of names alike, the nearest to `near` first.
    """
    wanted = folded(words).split()
    if not wanted:
        return []
    found: list[tuple[int, int, float, Named]] = []
    whole = " ".join(wanted)
    for one in names:
        name = folded(one.name)
        parts = name.split()
        if not all(any(part.startswith(word) for part in parts) for word in wanted):
            continue
        how = 0 if name == whole else 1 if name.startswith(whole) else 2
        kind = _ORDER.index(one.kind) if one.kind in _ORDER else len(_ORDER)
        found.append((how, kind if how else 0, kilometres(near, one.place), one))
    return [one for *_, one in sorted(found, key=lambda each: each[:3])[:MOST_FOUND]]


def folded(text: str) -> str:
    """Return a name as it is compared: no accents, no case, no punctuation."""
    plain = "".join(mark for mark in unicodedata.normalize("NFKD", text) if not unicodedata.combining(mark))
    return " ".join("".join(mark if mark.isalnum() else " " for mark in plain.casefold().replace("'", "")).split())
