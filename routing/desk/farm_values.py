"""What is typed into a value of the farm, as farm.toml would say it; the reader of farms judges it."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from difflib import SequenceMatcher

from routing.desk.farm_field import FarmField, Kind, Said, Table, Way
from routing.desk.files.toml_edit import Value
from routing.errors import AskedError
from routing.farm.models import Farm, Figure, JobKind
from routing.farm.values import LONGEST_NOTE
from routing.share.wording.farm_keys import band_words, month_words

_NUMBER = re.compile(r"[+-]?[0-9]{1,15}([.,][0-9]{1,9})?")
USES = ("takes", "brings_back")
MOST_ROWS = 50
LONGEST_TYPED = LONGEST_NOTE
NOTHING_THERE = "farm.toml does not say it, so there is nothing to take out"
type Values = Mapping[Way, Value]
type Listed = Sequence[Value]


def changed_values(farm: Farm, said: Said, one: FarmField, text: str, source: str) -> Values:
    """Return what sets a value to what is typed; an empty text takes it out, but of a list. Raises AskedError."""
    if not text and one.kind not in {Kind.WORDS, Kind.TICKS, Kind.LINES} and "" not in one.choices:
        return taken_out(said, one)
    if one.kind is Kind.CHOICE and one.way[:1] == ("roads",) and text not in one.choices:
        raise AskedError(f"{one.name}: no such file stands in the farm's folder; load the page again")
    values = _values(said, one, text)
    if one.kind is Kind.FIGURE and source:
        values = {way: own_figure(value, source) for way, value in values.items()}
    if one.source_way and source != one.own_source:
        values = {**values, one.source_way: source or None}
    if one.way[-2:-1] and one.way[-2] in USES:
        return use_values(farm, said, one.way, values[one.way])
    return values


def in_words(one: FarmField, text: str) -> str:
    """Return what is typed as the field's value shows it. Raises AskedError."""
    if one.table is None or not text:
        return text
    return (band_words if one.table.keys else month_words)(_typed_rows(text, one.table))


def taken_out(said: Said, one: FarmField) -> Values:
    """Return what takes a value out of farm.toml, with the source beside it. Raises AskedError."""
    if one.needed:
        raise AskedError(f"{one.name}: farm.toml must say it; write a value")
    if not one.said:
        raise AskedError(f"{one.name}: {NOTHING_THERE}")
    at, rest = one.way[:-1], said.value(one.way[:-1])
    if at[-1:] and at[-1] in USES and isinstance(rest, dict) and len(rest) == 1:
        return {at: None}
    beside = [one.source_way] if one.source_way and said.value(one.source_way) is not None else []
    return dict.fromkeys([one.way, *beside])


def use_values(farm: Farm, said: Said, way: Way, value: Value) -> Values:
    """Return what sets how much of a material a kind takes: a table in farm.toml stands for all that it takes.

    So the others are written along, each with its source, where it is written for the first time.
    """
    *at, material = way
    if said.value(at) is not None:
        return {way: value}
    kind: JobKind = farm.job_kinds[str(way[1])]
    uses: dict[str, Value] = {use.material: _whole(use.a_hive) for use in getattr(kind, str(way[2]))}
    return {tuple(at): {**uses, str(material): value}}


def own_figure(value: Value, source: str) -> Value:
    """Return a number of the farm's own with its source."""
    return {"value": value, "source": source, "confidence": "farm"}


def _whole(figure: Figure) -> Value:
    return {"value": figure.value, "source": figure.source, "confidence": figure.confidence}


def _values(said: Said, one: FarmField, text: str) -> Values:
    """Return what sets a value; of a list only what differs, so that all else in it stays as it is written."""
    if one.table is not None:
        return _rows(one, one.table, text)
    value = parsed(one.kind, text)
    old = said.value(one.way)
    if not isinstance(old, list) or not isinstance(value, list) or not old or not value:
        return {one.way: value}
    if one.kind is Kind.TICKS:
        value = [*(name for name in old if name in value), *(name for name in value if name not in old)]
    if one.kind in {Kind.TICKS, Kind.LINES}:
        steps = matched(one.way, old, value)
        return steps if made_of(old, steps) == value else by_place(one.way, old, value)
    return {one.way: value}


def _rows(one: FarmField, table: Table, text: str) -> Values:
    new: list[Value] = [_row(table, row) for row in _typed_rows(text, table)]
    if not one.said or not new:
        return {one.way: new}
    old: list[Value] = [_row(table, row) for row in table.rows]
    steps = (by_place if not table.keys or len(old) == len(new) else matched)(one.way, old, new)
    found: dict[Way, Value] = {}
    for way, value in steps.items():
        number = int(way[-1])
        was = old[number] if number < len(old) else None
        if isinstance(value, dict) and isinstance(was, dict):
            found |= {(*way, key): value.get(key) for key in table.keys if value.get(key) != was.get(key)}
        else:
            found[way] = value
    return found


def _typed_rows(text: str, table: Table) -> list[tuple[str, ...]]:
    """Return the rows that a page sends. Raises AskedError where they are none."""
    try:
        found = json.loads(text)
    except ValueError:
        found = None
    rows: list[object] = found if isinstance(found, list) else [None]
    most = len(table.names) or MOST_ROWS
    if not len(table.names) <= len(rows) <= most or not all(_is_row(row, len(table.columns)) for row in rows):
        raise AskedError("the desk could not read what this page sent; load the page again")
    return [tuple(str(cell).strip() for cell in row) for row in rows if isinstance(row, list)]


def _is_row(row: object, wide: int) -> bool:
    return isinstance(row, list) and len(row) == wide and all(isinstance(cell, str) for cell in row)


def _row(table: Table, row: Sequence[str]) -> Value:
    if not table.keys:
        return number_of(row[0])
    return {key: number_of(cell) for key, cell in zip(table.keys, row, strict=True) if cell}


def matched(way: Way, old: Listed, new: Listed) -> Values:
    """Return what makes one list of another by leaving the rest alone: changed in place, left out, or put at the end.

    So what is new in the middle comes to stand where something was left out, or at the end.
    """
    changed: dict[Way, Value] = {}
    dropped: list[int] = []
    added: list[Value] = []
    texts = [json.dumps(value, default=str) for value in old], [json.dumps(value, default=str) for value in new]
    for tag, a, b, c, d in SequenceMatcher(None, *texts, autojunk=False).get_opcodes():
        if tag != "equal":
            both = min(b - a, d - c)
            changed |= {(*way, a + step): new[c + step] for step in range(both)}
            dropped += range(a + both, b)
            added += new[c + both : d]
    while dropped and added:
        changed[*way, dropped.pop(0)] = added.pop(0)
    left: dict[Way, Value] = {(*way, number): None for number in sorted(dropped, reverse=True)}
    return {**changed, **left, **{(*way, len(old) + number): value for number, value in enumerate(added)}}


def by_place(way: Way, old: Listed, new: Listed) -> Values:
    """Return what makes one list of another place by place."""
    both = min(len(old), len(new))
    changed: dict[Way, Value] = {(*way, place): new[place] for place in range(both) if old[place] != new[place]}
    left: dict[Way, Value] = {(*way, place): None for place in reversed(range(both, len(old)))}
    return {**changed, **left, **{(*way, place): new[place] for place in range(both, len(new))}}


def made_of(old: Listed, steps: Values) -> list[Value]:
    """Return what steps make of a list."""
    made = list(old)
    for way, value in steps.items():
        place = int(way[-1])
        made[place : place + 1] = [] if value is None else [value]
    return made


def number_of(text: str) -> Value:
    """Return a number with a decimal point or comma; what is none stays text, for the reader to judge."""
    if not _NUMBER.fullmatch(text):
        return text
    plain = text.replace(",", ".")
    return float(plain) if "." in plain else int(plain)


def _truth(text: str) -> Value:
    return {"yes": True, "no": False}.get(text, text)


def _words(text: str) -> Value:
    return [word.strip() for word in text.split(",") if word.strip()]


def _lines(text: str) -> Value:
    return [line.strip() for line in text.splitlines() if line.strip()]


def _as_it_is(text: str) -> Value:
    return text


_PARSERS: Mapping[Kind, Callable[[str], Value]] = {
    Kind.TEXT: _as_it_is,
    Kind.TIME: _as_it_is,
    Kind.DAY: _as_it_is,
    Kind.CHOICE: _as_it_is,
    Kind.NUMBER: number_of,
    Kind.FIGURE: number_of,
    Kind.TRUTH: _truth,
    Kind.WORDS: _words,
    Kind.TICKS: _words,
    Kind.LINES: _lines,
}


def parsed(kind: Kind, text: str) -> Value:
    """Return what is typed as farm.toml would say it."""
    return _PARSERS[kind](text)
