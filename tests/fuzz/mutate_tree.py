"""Changes to documents that are trees: JSON and XML."""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Iterator, Sequence
from random import Random
from typing import Any

from tests.fuzz import odd_values as odd

_ATTRIBUTE = re.compile(r'([A-Za-z_]+)="([^"]*)"')
_ELEMENT = re.compile(r"<(node|way|relation|nd|tag|member)\b[^>]*/?>")

Spot = tuple[Any, Any]
"""A list or an object, and the place in it."""


def json_changed(content: bytes, chance: Random, words: Sequence[str]) -> bytes:
    """Return a JSON document with one node replaced, doubled, moved, renamed or taken away; other bytes as they are."""
    try:
        tree = [json.loads(content)]
    except (ValueError, RecursionError):
        return content[: chance.randint(0, len(content))]
    inside, at = chance.choice(list(_spots(tree)))
    kind = chance.randrange(10)
    if kind < 5:
        inside[at] = _like(inside[at], chance, words)
    elif kind == 5:
        other, place = chance.choice(list(_spots(tree)))
        inside[at] = copy.deepcopy(other[place])
    elif inside is not tree and kind == 6:
        del inside[at]
    elif isinstance(inside, dict):
        inside[chance.choice(words or ("x",))] = inside.pop(at) if kind == 7 else chance.choice(odd.OF_JSON)
    else:
        inside[at:at] = [copy.deepcopy(inside[at])] * chance.choice((1, 1, 2, 30))
    return json.dumps(tree[0]).encode() if tree else b""


def _like(value: Any, chance: Random, words: Sequence[str]) -> object:
    """Return an odd value, more often than not of the same kind as what stands there."""
    if isinstance(value, int | float) and not isinstance(value, bool) and chance.random() < 0.6:
        return chance.choice((value + 1, value - 1, -value, value * 2, value * 1000, value // 3, value * 10**30))
    if isinstance(value, str) and chance.random() < 0.6:
        return chance.choice((*odd.DATES, *odd.TIMES, *odd.TEXTS, *words))
    return chance.choice(odd.OF_JSON)


def _spots(tree: Any) -> Iterator[Spot]:
    """Yield every place of a tree."""
    for at in list(tree) if isinstance(tree, dict) else range(len(tree)):
        yield tree, at
        if isinstance(tree[at], dict | list):
            yield from _spots(tree[at])


def xml_changed(content: bytes, chance: Random, values: Sequence[str]) -> bytes:
    """Return an XML document with an attribute changed, or an element taken away, doubled or moved."""
    text = content.decode("utf-8", "replace")
    attributes, elements = list(_ATTRIBUTE.finditer(text)), list(_ELEMENT.finditer(text))
    if attributes and chance.random() < 0.7:
        one = chance.choice(attributes)
        value = chance.choice(
            (chance.choice(odd.NUMBERS), values[0], chance.choice(values), chance.choice(attributes)[2])
        )
        shown = (
            value if chance.random() < 0.1 else value.replace("&", "&amp;").replace('"', "&quot;").replace("<", "&lt;")
        )
        return (text[: one.start(2)] + shown + text[one.end(2) :]).encode("utf-8", "replace")
    if not elements:
        return content[: chance.randint(0, len(content))]
    one, other = chance.choice(elements), chance.choice(elements)
    kind = chance.randrange(3)
    if kind == 0:
        text = text[: one.start()] + text[one.end() :]
    elif kind == 1:
        text = text[: other.start()] + one[0] * chance.choice((1, 2, 50)) + text[other.start() :]
    else:
        text = text[: chance.randint(one.start(), one.end())] + text[other.start() :]
    return text.encode("utf-8", "replace")
