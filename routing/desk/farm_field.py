"""A value of farm.toml that the Farm view lets one change: as it is in effect, with where it comes from."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from routing.errors import AskedError
from routing.farm.documents import Document, parse_document
from routing.farm.faults import Faults
from routing.farm.settings import FILE

type Way = tuple[str | int, ...]
type Rows = tuple[tuple[str, ...], ...]


class Kind(StrEnum):
    """What may be written into a value."""

    TEXT = "text"
    TIME = "time"
    DAY = "day"
    NUMBER = "number"
    TRUTH = "truth"
    CHOICE = "choice"
    WORDS = "words"
    TICKS = "ticks"
    LINES = "lines"
    FIGURE = "figure"
    ROWS = "rows"


@dataclass(frozen=True)
class Table:
    """The rows of a value that is a table of numbers."""

    columns: tuple[str, ...]
    rows: Rows
    names: tuple[str, ...] = ()
    """What each row is called; empty where rows may be added and left out."""
    keys: tuple[str, ...] = ()
    """The key of each column; empty where a row is one bare number."""

    @property
    def shown(self) -> Mapping[str, object]:
        """What the page's script takes."""
        return {"columns": self.columns, "rows": self.rows, "names": self.names}


@dataclass(frozen=True)
class FarmField:
    """One value that may be changed."""

    way: Way
    name: str
    value: str
    """As it is in effect, and as it is typed; of a table in one line."""
    kind: Kind
    source: str
    said: bool
    """Whether farm.toml says it."""
    sure: str = ""
    choices: tuple[str, ...] = ()
    needed: bool = False
    """Whether farm.toml has to say it."""
    whose: str = ""
    """The id of the crew or vehicle whose value it is: its way counts them, and the file may have changed meanwhile."""
    source_way: Way = ()
    """Where farm.toml says whence it is, in a key of its own; empty where that is not so."""
    own_source: str = ""
    """What farm.toml says there."""
    table: Table | None = None

    @property
    def key(self) -> str:
        """What the page sends back for it."""
        return json.dumps(self.way)

    @property
    def sourced(self) -> bool:
        """Whether it may be said where it is from."""
        return self.kind is Kind.FIGURE or bool(self.source_way)


@dataclass(frozen=True)
class Group:
    """Values that belong together, under a heading."""

    title: str
    fields: tuple[FarmField, ...]
    drop: str = ""
    """What the page sends to take the whole table out of farm.toml, empty where it stays."""
    about: str = ""
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Said:
    """What farm.toml says, and where."""

    table: Mapping[str, object]
    document: Document = field(default_factory=lambda: Document(FILE, Faults()))

    def value(self, way: Sequence[str | int]) -> object:
        """Return what stands at the end of a way, None where nothing does."""
        found: Any = self.table
        for step in way:
            try:
                found = found[step]
            except (LookupError, TypeError):
                return None
        return found

    def where(self, way: Sequence[str | int]) -> str:
        """Return where it stands: `farm.toml, line 27`."""
        line = self.document.line(tuple(way))
        return f"{FILE}, line {line}" if line else FILE


def said_in(text: str) -> Said:
    """Return what a text of farm.toml says. Raises AskedError where it is not TOML."""
    keys = parse_document(text, FILE, Faults())
    if keys is None:
        raise AskedError(f"{FILE} cannot be read: mend it first")
    return Said(tomllib.loads(text), keys.document)
