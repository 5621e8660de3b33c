"""What may be added to farm.toml as a whole, and taken out of it again; the reader of farms judges it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from routing.desk.farm_field import Kind, Said, Way
from routing.desk.farm_fields import DRIVES
from routing.desk.farm_values import LONGEST_TYPED, USES, Values, own_figure, parsed, use_values
from routing.desk.farm_work import UNITS
from routing.desk.files.toml_edit import Value
from routing.desk.given import Given
from routing.errors import AskedError
from routing.farm.basics import Rank
from routing.farm.faults import quoted
from routing.farm.kinds import load_catalogue
from routing.farm.models import Farm
from routing.farm.values import LONGEST_ID, LONGEST_NAME
from routing.farm.workbook_cells import number_text
from routing.farm.year_rules import default_year, spare_rules
from routing.farm.year_words import EVENTS, SEEN

SOURCE = ("source", "where the numbers are from (empty: your own)", Kind.TEXT)
type Typed = Mapping[str, Value]


@dataclass(frozen=True)
class New:
    """A table that may be added to farm.toml, with the values that it must have."""

    what: str
    fields: tuple[tuple[str, str, Kind], ...]
    """Key, words and kind of each."""


_ID, _NAME = ("id", "short name", Kind.TEXT), ("name", "name", Kind.TEXT)
NEW: Mapping[str, New] = {
    "crew": New(
        "crew",
        (
            _ID,
            _NAME,
            ("people", "people", Kind.NUMBER),
            ("vehicle", "vehicle", Kind.CHOICE),
            ("earliest_start", "earliest start (HH:MM)", Kind.TIME),
            ("home_by", "home by (HH:MM)", Kind.TIME),
        ),
    ),
    "vehicle": New(
        "vehicle",
        (
            _ID,
            _NAME,
            ("payload_kg", "payload, kg: what the plate and the papers leave with crew and tools in it", Kind.NUMBER),
            ("space_litres", "space, litres", Kind.NUMBER),
            ("drives", "drives as", Kind.CHOICE),
        ),
    ),
    "material": New(
        "material",
        (
            _ID,
            _NAME,
            ("unit", "counted in", Kind.CHOICE),
            ("kg_each", "kg each (1 where it is counted in kg)", Kind.FIGURE),
            ("litres_each", "litres of space each", Kind.FIGURE),
            ("sold_by", "units in a pack (empty: loose)", Kind.FIGURE),
            ("pack", "a pack is called", Kind.TEXT),
            ("stock", "stock at base (empty: not counted)", Kind.NUMBER),
            SOURCE,
        ),
    ),
    "job_kind": New(
        "job kind",
        (
            _ID,
            _NAME,
            ("minutes_a_visit", "minutes a visit", Kind.NUMBER),
            ("minutes_a_hive", "minutes a hive", Kind.NUMBER),
        ),
    ),
    "use": New(
        "material to a job kind",
        (
            ("kind", "job kind", Kind.CHOICE),
            ("use", "takes it or brings it back", Kind.CHOICE),
            ("material", "material", Kind.CHOICE),
            ("a_hive", "units a hive", Kind.FIGURE),
            SOURCE,
        ),
    ),
    "due": New(
        "rule of the year",
        (
            _ID,
            ("job", "job kind", Kind.CHOICE),
            ("rank", "rank", Kind.CHOICE),
            ("every_days", "every so many days", Kind.FIGURE),
            ("by", "or once, by (month-day)", Kind.DAY),
            ("after", "or after", Kind.CHOICE),
            ("earliest_days", "after it: earliest, days", Kind.FIGURE),
            ("latest_days", "after it: latest, days", Kind.FIGURE),
            ("stores_below_kg", "or when stores are below, kg", Kind.FIGURE),
            ("starts", "starts (month-day)", Kind.DAY),
            ("ends", "ends (month-day)", Kind.DAY),
            ("source", "where its dates are from (empty: your own)", Kind.TEXT),
        ),
    ),
    "feed": New(
        "feed to the reckoning of stores",
        (
            ("material", "material", Kind.CHOICE),
            ("stores_kg_a_unit", "a unit counts for stores of, kg", Kind.FIGURE),
            ("most_a_feed", "units a colony is given at once at most", Kind.FIGURE),
            SOURCE,
        ),
    ),
    "find": New(
        "service that finds places by their names",
        (
            ("url", "address", Kind.TEXT),
            ("terms", "what the service asks of those who use it", Kind.TEXT),
            ("seconds", "waits for an answer, seconds (empty: 10)", Kind.NUMBER),
        ),
    ),
}
_USE_WORDS = {"takes": "takes", "brings back": "brings_back"}


def longest(key: str) -> int:
    """Return how many characters may be typed into a value of a new table."""
    return LONGEST_TYPED if key in {"source", "terms", "url"} else LONGEST_NAME


def choices_of(farm: Farm, key: str) -> tuple[str, ...]:
    """Return what a value of a new table may be; empty where anything may be typed."""
    kinds = tuple(sorted(farm.job_kinds))
    found: Mapping[str, Sequence[str]] = {
        "vehicle": tuple(farm.vehicles),
        "drives": DRIVES,
        "unit": UNITS,
        "kind": kinds,
        "job": kinds,
        "after": ("", *kinds, *EVENTS, *SEEN),
        "use": tuple(_USE_WORDS),
        "material": tuple(sorted(farm.materials)),
        "rank": (*(rank.value for rank in Rank if rank is not Rank.NOW), Rank.NOW.value),
    }
    return tuple(found.get(key, ()))


def offered(farm: Farm) -> tuple[str, ...]:
    """Return what may be added to a farm as it is."""
    return tuple(what for what in NEW if what != "find" or farm.finder is None)


def added_values(farm: Farm, said: Said, given: Given) -> tuple[Values, str]:
    """Return what adds a table with what is typed, and its words. Raises AskedError."""
    what = given.text("what", LONGEST_ID)
    if what not in offered(farm):
        raise AskedError("the desk adds no such thing")
    typed = _typed(NEW[what], given)
    if what == "find":
        return {("find",): typed}, "A service that finds places"
    if what == "feed":
        return _feed(typed)
    if what == "use":
        return _use(farm, said, typed)
    name = typed.get("id")
    if not isinstance(name, str) or not name:
        raise AskedError(f"give the {NEW[what].what} a short name")
    words = f"A {NEW[what].what} more: {name}"
    if what in {"crew", "vehicle"}:
        return {(what, len(farm.crews if what == "crew" else farm.vehicles)): typed}, words
    there: Mapping[str, Mapping[str, object]] = {
        "job_kind": farm.job_kinds,
        "material": farm.materials,
        "due": {**_own_rules(said), **default_year().due, **spare_rules()},
    }
    if name in there[what]:
        raise AskedError(f"there is a {NEW[what].what} {quoted(name)} already: change that one")
    rest = {key: value for key, value in typed.items() if key not in {"id", "stock"}}
    values: dict[Way, Value] = {(what, name): rest}
    if "stock" in typed:
        values["stock", name] = typed["stock"]
    return values, words


def _typed(new: New, given: Given) -> dict[str, Value]:
    """Return what is typed by its keys; the source goes with each number, but in a rule, which has one of its own."""
    source = given.text("source") if SOURCE in new.fields else ""
    table: dict[str, Value] = {}
    for key, _, kind in new.fields:
        text = given.text(key, longest(key))
        if text and not (key == "source" and SOURCE in new.fields):
            value = parsed(kind, text)
            table[key] = own_figure(value, source) if kind is Kind.FIGURE and source else value
    return table


def _own_rules(said: Said) -> Mapping[str, object]:
    found = said.value(("due",))
    return found if isinstance(found, dict) else {}


def _feed(typed: Typed) -> tuple[Values, str]:
    material = str(typed.get("material", ""))
    values: dict[Way, Value] = {("feed", key, material): value for key, value in typed.items() if key != "material"}
    if not values:
        raise AskedError("give what a unit counts for, or how much is given at once")
    return values, f"A feed more: {material}"


def _use(farm: Farm, said: Said, typed: Typed) -> tuple[Values, str]:
    kind, material = str(typed.get("kind", "")), str(typed.get("material", ""))
    key = _USE_WORDS.get(str(typed.get("use", "")), "")
    if kind not in farm.job_kinds or key not in USES:
        raise AskedError("the farm has no such job kind any more; load the page again")
    if "a_hive" not in typed:
        raise AskedError("give the units a hive")
    way: Way = ("job_kind", kind, key, material)
    return use_values(farm, said, way, typed["a_hive"]), f"{kind} {typed['use']}: {material}"


def dropped_values(farm: Farm, said: Said, kind: str, name: str) -> tuple[Values, str]:
    """Return what takes a table out of farm.toml, and its words. Raises AskedError where it is not there."""
    ids = {"crew": [crew.id for crew in farm.crews], "vehicle": list(farm.vehicles)}.get(kind)
    way: Way = (kind, name) if ids is None else (kind, ids.index(name) if name in ids else len(ids))
    if kind == "find":
        way = ("find",)
    if kind not in {"crew", "vehicle", "material", "job_kind", "due", "find"} or said.value(way) is None:
        raise AskedError("that does not stand in farm.toml any more; load the page again")
    what = NEW[kind].what
    words = f"{what[:1].upper()}{what[1:]} taken out{': ' if name else ''}{name}"
    if kind == "material" and name not in load_catalogue().materials and name in farm.stock:
        return {way: None, ("stock", name): None}, f"{words}, and its stock of {number_text(farm.stock[name])}"
    return {way: None}, words
