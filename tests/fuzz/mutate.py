"""Changes to a text by its grammar: cells of a table, values of a setting, nodes of a tree, words of a line.

Each takes the text and a source of chance and returns another text, which need not be of the grammar any more.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Sequence
from random import Random

from tests.fuzz import odd_values as odd
from tests.fuzz.mutate_tree import json_changed, xml_changed

Mutator = Callable[[bytes, Random, Sequence[str]], bytes]
"""What the last argument holds are words of this target's own seeds: ids, columns, keys."""

LONGEST = 60_000
_VALUE = re.compile(r"^(\s*[^=#\n]+=\s*)(.*)$")
_WORD = re.compile(r"[^\s,;=]+")
MANY = (3, 40, 400)
ALIKE = (
    (re.compile(r"\d{4}-\d\d-\d\d"), odd.DATES),
    (re.compile(r"[\dT:-]*\d\d:\d\d\S*"), odd.TIMES),
    (re.compile(r"-?\d+(\.\d+)?"), odd.NUMBERS),
    (re.compile(r"-?\d+\.\d+,? -?\d+\.\d+|[A-Z]{1,2} \d+ \d+"), odd.PLACES),
)
"""How a value of each kind looks, and odd ones of that kind."""


def mutated(content: bytes, mutator: Mutator, chance: Random, words: Sequence[str]) -> bytes:
    """Return the content after one to four changes, most of them by its grammar and a few by its bytes."""
    for _ in range(chance.choice((1, 1, 1, 2, 2, 3, 4))):
        change = bytes_changed if chance.random() < 0.08 else mutator
        content = change(content, chance, words)[:LONGEST]
    return content


def bytes_changed(content: bytes, chance: Random, _words: Sequence[str]) -> bytes:
    """Cut something out of the bytes and put something in."""
    at = chance.randint(0, len(content))
    cut = chance.choice((0, 0, 1, 1, 2, 8, 64, len(content)))
    put = chance.choice((*odd.BYTES, bytes([chance.randrange(256)]), content[at : at + 20] * 3))
    return content[:at] + put + content[at + cut :]


def any_value(chance: Random, words: Sequence[str]) -> str:
    """Return an odd value, a word of the seeds, or two of them together."""
    first = chance.choice(words) if words and chance.random() < 0.3 else chance.choice(odd.ANY)
    if chance.random() < 0.1:
        return first + chance.choice(("", " ", ":", "=", ",", ";", "-", "/")) + chance.choice(odd.ANY)
    return first


def like(before: str, chance: Random, words: Sequence[str]) -> str:
    """Return an odd value, more often than not of the same kind as what stands there: a date for a date."""
    for kind, values in ALIKE:
        if kind.fullmatch(before.strip()) and chance.random() < 0.6:
            return chance.choice(values)
    return any_value(chance, words)


def table_changed(content: bytes, chance: Random, words: Sequence[str]) -> bytes:
    """Change a cell, a row, a column or the separator of a table."""
    rows = [row for row in csv.reader(io.StringIO(_text(content).replace("\x00", "\ufffd"), newline="")) if row]
    if not rows:
        return (chance.choice(words or ("x",)) + "\n").encode()
    row = chance.choice(rows[1:] or rows)
    kind = chance.randrange(12)
    if kind < 6:
        at = chance.randrange(len(row))
        row[at] = like(row[at], chance, words)
    elif kind == 6:
        other = chance.choice(rows)
        row[chance.randrange(len(row))] = chance.choice(other)
    elif kind == 7:
        rows.insert(chance.randint(1, len(rows)), list(row))
        rows = rows if chance.random() < 0.9 else [*rows, *[list(row)] * chance.choice(MANY)]
    elif kind == 8:
        rows.remove(row)
    elif kind == 9:
        column, name = chance.randint(0, len(rows[0])), chance.choice(words or ("x",))
        rows = [
            [*one[:column], name if number == 0 else any_value(chance, words), *one[column:]]
            for number, one in enumerate(rows)
        ]
    elif kind == 10:
        column = chance.randrange(max(1, len(rows[0])))
        rows = [[*one[:column], *one[column + 1 :]] for one in rows]
    else:
        rows[0][chance.randrange(len(rows[0]))] = any_value(chance, words)
    out = io.StringIO(newline="")
    separator = chance.choice((",", ",", ",", ",", ";", "\t", "|"))
    csv.writer(out, delimiter=separator, lineterminator=chance.choice(("\n", "\n", "\r\n", "\r"))).writerows(rows)
    return out.getvalue().encode("utf-8", "replace")


def toml_changed(content: bytes, chance: Random, words: Sequence[str]) -> bytes:
    """Change a value, a key or a header of settings, double a line, or take one away."""
    lines = _text(content).split("\n")
    at = chance.randrange(len(lines))
    kind = chance.randrange(10)
    found = _VALUE.match(lines[at])
    while not found and kind < 6 and at + 1 < len(lines):
        at += 1
        found = _VALUE.match(lines[at])
    if kind < 6 and found:
        lines[at] = found[1] + _toml_value(chance, words, found[2])
    elif kind == 6:
        lines.insert(at, chance.choice(lines))
    elif kind == 7:
        del lines[at]
    elif kind == 8:
        key = ".".join(chance.choice(words or ("x",)) for _ in range(chance.choice((1, 1, 1, 2, 3))))
        lines.insert(at, f"{key} = {_toml_value(chance, words, '1')}")
    else:
        name = chance.choice(words or ("x",))
        lines.insert(at, chance.choice((f"[{name}]", f"[[{name}]]", f"[rules.{name}]", f"[job_kind.{name}]")))
    return "\n".join(lines).encode("utf-8", "replace")


def _toml_value(chance: Random, words: Sequence[str], before: str) -> str:
    kind = chance.randrange(5)
    if kind == 0:
        return chance.choice(odd.OF_TOML)
    if kind == 1:
        return chance.choice(odd.NUMBERS)
    if kind == 2:
        return f"[{before}, {before}]"
    shown = (
        like(before.split("#", maxsplit=1)[0].strip().strip('"'), chance, words)
        .replace("\\", "\\\\")
        .replace('"', '\\"')
    )
    return f'"{shown}"'


def lines_changed(content: bytes, chance: Random, words: Sequence[str]) -> bytes:
    """Change a word of a line, or the order of lines."""
    lines = _text(content).split("\n")
    at = chance.randrange(len(lines))
    kind = chance.randrange(10)
    if kind < 6:
        spans = [found.span() for found in _WORD.finditer(lines[at])]
        start, end = chance.choice(spans) if spans else (0, len(lines[at]))
        lines[at] = lines[at][:start] + like(lines[at][start:end], chance, words) + lines[at][end:]
    elif kind == 6:
        lines.insert(at, chance.choice(lines))
    elif kind == 7:
        del lines[at]
    elif kind == 8:
        other = chance.randrange(len(lines))
        lines[at], lines[other] = lines[other], lines[at]
    else:
        lines.insert(at, f"{chance.choice(words or ('x',))}: {any_value(chance, words)}")
    return "\n".join(lines).encode("utf-8", "replace")


def tree_changed(content: bytes, chance: Random, words: Sequence[str]) -> bytes:
    """Change a node of a JSON document."""
    return json_changed(content, chance, words)


def markup_changed(content: bytes, chance: Random, words: Sequence[str]) -> bytes:
    """Change an attribute or an element of an XML document."""
    return xml_changed(content, chance, [any_value(chance, words), *words])


def _text(content: bytes) -> str:
    return content.decode("utf-8", "replace")
