"""TOML tables that remember their file and lines, and give typed values or faults."""

from __future__ import annotations

import datetime as dt
import re
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

from routing.farm.faults import Faults, nearest, one_of, quoted
from routing.farm.models import Confidence, Figure
from routing.farm.unfit import UnfitError
from routing.farm.values import LONGEST_NAME, LONGEST_NOTE, clock, text_up_to, within

KeyPath = tuple[str | int, ...]
CONFIDENCES: dict[str, Confidence] = {"V": "V", "V2": "V2", "D": "D", "M": "M", "farm": "farm"}
WHERE = re.compile(r"\(at line ([0-9]+), column [0-9]+\)")
HEADER = re.compile(r"[ \t]*+(\[\[?)([^\[\]]++)\]")
ONE_PART = r"""(?:[A-Za-z0-9_-]++|"(?:[^"\\\n]|\\.)*+"|'[^'\n]*+')"""
DOTTED = rf"{ONE_PART}(?:[ \t]*+\.[ \t]*+{ONE_PART})*+"
KEY = re.compile(rf"[ \t]*+({DOTTED})[ \t]*+=")
WORDS = re.compile(
    rf"""(?:\"{{3}}(?:[^"\\]|\\.|"(?!""))*+\"{{3}}|'{{3}}(?:[^']|'(?!''))*+'{{3}}|\#[^\n]*+)|({DOTTED})""", re.DOTALL
)
"""Long strings and comments, and in the group every other word, with the words that dots join to it."""
PART = re.compile(r""""([^"]*)"|'([^']*)'|([^."'\s]+)""")
MOST_PARTS = 20
"""The reader of TOML takes minutes for keys of thousands of parts; no table of ours is deeper than five."""


@dataclass(frozen=True)
class Document:
    """A parsed TOML file: where its keys stand and what a bare number's source is."""

    file: str
    faults: Faults
    lines: dict[KeyPath, int] = field(default_factory=dict)
    source: str = ""
    """The source of a figure that gives none; empty where each must give its own."""

    def line(self, path: KeyPath) -> int:
        """Return the line of a key, or of the nearest table around it, or 0."""
        for length in range(len(path), 0, -1):
            if path[:length] in self.lines:
                return self.lines[path[:length]]
        return 0


class Keys:
    """One table of a document: takes typed values out and notes a fault for each that is wrong."""

    def __init__(self, table: dict[str, object], path: KeyPath, document: Document) -> None:
        self._table = table
        self.path = path
        self.document = document
        self._before = document.faults.stopping

    @property
    def ok(self) -> bool:
        """Whether no fault was noted since this table was begun."""
        return self.document.faults.stopping == self._before

    def noted_in(self, faults: Faults) -> Keys:
        """Return the same table, whose faults are noted elsewhere."""
        return Keys(self._table, self.path, replace(self.document, faults=faults))

    def __contains__(self, key: str) -> bool:
        return key in self._table

    def __iter__(self) -> Iterator[str]:
        """Yield the keys, as long as one more fault would still be told."""
        for key in self._table:
            if self.document.faults.enough(self.document.file):
                return
            yield key

    def peek(self, key: str) -> object:
        """Return a value unchecked, None where it is missing."""
        return self._table.get(key)

    @property
    def name(self) -> str:
        """The table as it is named in faults: `[crew 2]`, `[stock]`, or nothing for the top of the file."""
        shown = "".join(f" {part + 1}" if isinstance(part, int) else f".{part}" for part in self.path)
        return f"[{quoted(shown[1:])[1:-1]}]" if shown else ""

    def fault(self, key: str, what: str, fix: str = "") -> None:
        """Note a fault at a key of this table; an empty key means the table itself."""
        line = self.document.line((*self.path, key) if key else self.path)
        self.document.faults.add(self.document.file, line, " ".join(filter(None, (self.name, what))), fix)

    def warn(self, key: str, what: str, fix: str = "") -> None:
        """Note a warning at a key of this table."""
        self.document.faults.warn(self.document.file, self.document.line((*self.path, key)), f"{self.name} {what}", fix)

    def only(self, *known: str) -> None:
        """Note a fault for each key that is not known."""
        for key in self._table:
            if key not in known and not self.document.faults.enough(self.document.file):
                self.fault(key, f"has a key {quoted(key)} that is not known", nearest(key, known) or one_of(known))

    def needs(self, *keys: str) -> None:
        """Note a fault for each key that is missing."""
        for key in keys:
            if key not in self._table:
                self.fault("", f"has no {key}")

    def take[Value](self, key: str, parse: Callable[[object], Value], default: Value) -> Value:
        """Return the parsed value; the default where it is missing or wrong, and wrong is noted."""
        if key not in self._table:
            return default
        value = self._table[key]
        try:
            return parse(value)
        except UnfitError as error:
            shown = quoted(value) if isinstance(value, str) else quoted(str(value))[1:-1]
            self.fault(key, f"{key} {shown} {error}")
            return default

    def text(self, key: str, default: str = "", longest: int = LONGEST_NAME) -> str:
        """Return a text; an empty one counts as missing."""
        return self.take(key, lambda value: text_up_to(longest)(as_text(value)).strip(), "") or default

    def number(self, key: str, low: float, high: float, default: float) -> float:
        """Return a number from `low` to `high`."""
        return self.take(key, lambda value: within(as_number(value), low, high), default)

    def time(self, key: str) -> dt.time | None:
        """Return a time of day, written as text or as TOML's own."""
        return self.take(key, as_time, None)

    def texts(self, key: str, longest: int = LONGEST_NAME) -> tuple[str, ...]:
        """Return a list of texts; a single text counts as a list of one."""
        return self.take(key, lambda value: tuple(text_up_to(longest)(text) for text in as_texts(value)), ())

    def table(self, key: str) -> Keys:
        """Return a table below this one; an empty one where it is missing or wrong."""
        nothing: dict[str, object] = {}
        inner = self.take(key, as_table, nothing)
        return Keys(inner, (*self.path, key), self.document)

    def tables(self, key: str) -> list[Keys]:
        """Return the tables of a list below this one."""
        nothing: list[dict[str, object]] = []
        inner = self.take(key, as_tables, nothing)
        return [Keys(table, (*self.path, key, index), self.document) for index, table in enumerate(inner)]

    def figure(self, key: str, high: float, default: Figure | None) -> Figure | None:
        """Return a figure from 0 to `high`: a bare number, or a table of value, source and confidence."""
        value = self._table.get(key)
        if not isinstance(value, dict):
            bare = self.take(key, lambda value: within(as_number(value), 0, high), None)
            return default if bare is None else self._bare(key, bare)
        inner = self.table(key)
        inner.only("value", "source", "confidence")
        inner.needs("value", *([] if self.document.source else ["source", "confidence"]))
        return Figure(
            value=inner.number("value", 0, high, 0.0),
            source=inner.text("source", self.document.source, LONGEST_NOTE),
            confidence=inner.take("confidence", _confidence, "farm"),
        )

    def _bare(self, key: str, value: float) -> Figure:
        if not self.document.source:
            self.fault(key, f"{key} gives no source")
        return Figure(value=value, source=self.document.source, confidence="farm")


def as_text(value: object) -> str:
    """Return the value where it is text. Raises UnfitError."""
    if not isinstance(value, str):
        raise UnfitError("is not text: put it in quotes")
    return value


def as_number(value: object) -> float:
    """Return the value where it is a number. Raises UnfitError."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise UnfitError("is not a number: write digits with a decimal point and no quotes")
    try:
        return float(value)
    except OverflowError as error:
        raise UnfitError("is too large") from error


def as_truth(value: object) -> bool:
    """Return true or false. Raises UnfitError for anything else."""
    if not isinstance(value, bool):
        raise UnfitError("is neither true nor false")
    return value


def as_whole(low: int, high: int) -> Callable[[object], int]:
    """Return a parser for a whole number from `low` to `high`.

    What it returns raises UnfitError for anything else.
    """

    def parse(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise UnfitError("is not a whole number")
        return int(within(as_number(value), low, high))

    return parse


def as_flag(value: object) -> bool:
    """Return the value where it is true or false. Raises UnfitError."""
    if not isinstance(value, bool):
        raise UnfitError("is neither true nor false: write it without quotes")
    return value


def as_time(value: object) -> dt.time:
    """Return a time of day from text or TOML's own local time. Raises UnfitError."""
    if isinstance(value, dt.time):
        return value.replace(microsecond=0)
    return clock(as_text(value))


def as_texts(value: object) -> list[str]:
    """Return a list of texts. Raises UnfitError."""
    return [as_text(part) for part in value] if isinstance(value, list) else [as_text(value)]


def as_table(value: object) -> dict[str, object]:
    """Return the value where it is a table. Raises UnfitError."""
    if not isinstance(value, dict):
        raise UnfitError("is not a table")
    return value


def as_tables(value: object) -> list[dict[str, object]]:
    """Return the value where it is a list of tables. Raises UnfitError."""
    if not isinstance(value, list):
        raise UnfitError("is one table: write its heading in double brackets, [[...]]")
    return [as_table(part) for part in value]


def _confidence(value: object) -> Confidence:
    if value not in CONFIDENCES:
        raise UnfitError("is not " + one_of(CONFIDENCES))
    return CONFIDENCES[as_text(value)]


def parse_document(text: str, file: str, faults: Faults, source: str = "") -> Keys | None:
    """Return the top table of TOML text, or None with a fault that names the line where it is not TOML."""
    if line := _line_of_long_key(text):
        faults.add(file, line, f"has a key of more than {MOST_PARTS} parts", "look for stray dots")
        return None
    try:
        table = tomllib.loads(text)
    except RecursionError:
        faults.add(file, 0, "is nested too deeply to read")
        return None
    except ValueError as error:
        found = WHERE.search(str(error))
        message = quoted(WHERE.sub("", str(error)).strip())[1:-1]
        faults.add(file, int(found[1]) if found else 0, f"is not TOML: {message}")
        return None
    return Keys(table, (), Document(file, faults, _lines(text), source))


def _lines(text: str) -> dict[KeyPath, int]:
    """Return where each table heading and key stands; keys inside braces count with their line's key."""
    lines: dict[KeyPath, int] = {}
    counts: dict[KeyPath, int] = {}
    at: KeyPath = ()
    for number, line in enumerate(text.split("\n"), start=1):
        if heading := HEADER.match(line):
            at = _parts(heading[2])
            if heading[1] == "[[":
                counts[at] = counts.get(at, -1) + 1
                at = (*at, counts[at])
            lines.setdefault(at, number)
        elif key := KEY.match(line):
            lines.setdefault((*at, *_parts(key[1])), number)
    return lines


def _line_of_long_key(text: str) -> int:
    """Return the line of the first key that has too many parts, 0 where there is none."""
    for found in WORDS.finditer(text):
        word = found[1]
        if word and word.count(".") >= MOST_PARTS and len(_parts(word)) > MOST_PARTS:
            return text.count("\n", 0, found.start()) + 1
    return 0


def _parts(dotted: str) -> KeyPath:
    return tuple(a or b or c for a, b, c in PART.findall(dotted))
