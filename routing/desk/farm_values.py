"""What is typed into a value of the farm, as farm.toml would say it; the reader of farms judges it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from routing.desk.farm_fields import DRIVES, FarmField, Kind, Said, Way
from routing.desk.files.toml_edit import Value
from routing.desk.given import Given
from routing.errors import AskedError
from routing.farm.faults import quoted
from routing.farm.models import Farm, Figure, JobKind
from routing.farm.values import LONGEST_ID, LONGEST_NAME, LONGEST_NOTE

_NUMBER = re.compile(r"[+-]?[0-9]{1,15}([.,][0-9]{1,9})?")
USES = ("takes", "brings_back")
type Values = Mapping[Way, Value]


def changed_values(farm: Farm, said: Said, one: FarmField, text: str, source: str) -> Values:
    """Return what sets a value to what is typed; an empty text takes it out. Raises AskedError."""
    if not text:
        if one.needed:
            raise AskedError(f"{one.name}: farm.toml must say it; write a value")
        if not one.said:
            raise AskedError(f"{one.name}: farm.toml does not say it, so there is nothing to take out")
        return {one.way: None}
    value: Value = _PARSERS[one.kind](text)
    if one.kind is Kind.FIGURE and source:
        value = {"value": value, "source": source, "confidence": "farm"}
    at = one.way[:-1]
    if at[-1:] and at[-1] in USES and said.value(at) is None:
        return {at: {**_uses(farm, at), str(one.way[-1]): value}}
    return {one.way: value}


def _uses(farm: Farm, at: Way) -> dict[str, Value]:
    """Return all that a kind takes or brings back, each with its source: a table in farm.toml stands for all of it."""
    kind: JobKind = farm.job_kinds[str(at[1])]
    return {use.material: _whole(use.a_hive) for use in getattr(kind, str(at[2]))}


def _whole(figure: Figure) -> Value:
    return {"value": figure.value, "source": figure.source, "confidence": figure.confidence}


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


def _as_it_is(text: str) -> Value:
    return text


_PARSERS: Mapping[Kind, Callable[[str], Value]] = {
    Kind.TEXT: _as_it_is,
    Kind.TIME: _as_it_is,
    Kind.CHOICE: _as_it_is,
    Kind.NUMBER: number_of,
    Kind.FIGURE: number_of,
    Kind.TRUTH: _truth,
    Kind.WORDS: _words,
}


@dataclass(frozen=True)
class New:
    """A table that may be added to farm.toml, with the values that it must have."""

    what: str
    fields: tuple[tuple[str, str, Kind], ...]
    """Key, words and kind of each."""


NEW: Mapping[str, New] = {
    "crew": New(
        "crew",
        (
            ("id", "short name", Kind.TEXT),
            ("name", "name", Kind.TEXT),
            ("people", "people", Kind.NUMBER),
            ("vehicle", "vehicle", Kind.CHOICE),
            ("earliest_start", "earliest start (HH:MM)", Kind.TIME),
            ("home_by", "home by (HH:MM)", Kind.TIME),
        ),
    ),
    "vehicle": New(
        "vehicle",
        (
            ("id", "short name", Kind.TEXT),
            ("name", "name", Kind.TEXT),
            ("payload_kg", "payload, kg: what the plate and the papers leave with crew and tools in it", Kind.NUMBER),
            ("space_litres", "space, litres", Kind.NUMBER),
            ("drives", "drives as", Kind.CHOICE),
        ),
    ),
    "job_kind": New(
        "job kind",
        (
            ("id", "short name", Kind.TEXT),
            ("name", "name", Kind.TEXT),
            ("minutes_a_visit", "minutes a visit", Kind.NUMBER),
            ("minutes_a_hive", "minutes a hive", Kind.NUMBER),
        ),
    ),
}


def choices_of(farm: Farm, key: str) -> tuple[str, ...]:
    """Return what a value of a new table may be; empty where anything may be typed."""
    return {"vehicle": tuple(farm.vehicles), "drives": DRIVES}.get(key, ())


def added_values(farm: Farm, given: Given) -> tuple[Values, str]:
    """Return what adds a table with what is typed, and its words. Raises AskedError."""
    what = given.text("what", LONGEST_ID)
    new = NEW.get(what)
    if new is None:
        raise AskedError("the desk adds no such thing")
    table: dict[str, Value] = {}
    for key, _, kind in new.fields:
        text = given.text(key, LONGEST_NAME)
        if text:
            table[key] = _PARSERS[kind](text)
    name = str(table.get("id", ""))
    if not name:
        raise AskedError(f"give the {new.what} a short name")
    if what == "job_kind":
        if name in farm.job_kinds:
            raise AskedError(f"there is a job kind {quoted(name)} already: change that one")
        del table["id"]
        return {("job_kind", name): table}, f"A job kind more: {name}"
    number = len(farm.crews) if what == "crew" else len(farm.vehicles)
    return {(what, number): table}, f"A {new.what} more: {name}"


def dropped_values(farm: Farm, said: Said, kind: str, name: str) -> tuple[Values, str]:
    """Return what takes a table out of farm.toml, and its words. Raises AskedError where it is not there."""
    ids = {"crew": [crew.id for crew in farm.crews], "vehicle": list(farm.vehicles)}.get(kind)
    way: Way = ("job_kind", name) if ids is None else (kind, ids.index(name) if name in ids else len(ids))
    if kind not in NEW or said.value(way) is None:
        raise AskedError("that does not stand in farm.toml any more; load the page again")
    return {way: None}, f"{NEW[kind].what} taken out: {name}".capitalize()


LONGEST_TYPED = LONGEST_NOTE
