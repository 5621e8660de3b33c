"""Collecting every fault of a farm folder, and the words that point at what was probably meant."""

from __future__ import annotations

import difflib
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from routing.errors import Fault
from routing.farm.inert import escaped

SHOWN = 60
"""A value from a file is shown with at most this many characters in a fault."""

MOST_FAULTS = 200
"""So many faults of one file are told, and the number of the rest: one more would not help."""


class Faults:
    """Every fault and warning found so far, across all files of the folder."""

    def __init__(self) -> None:
        self._found: list[Fault] = []
        self._stopping = 0
        self._in_file: Counter[str] = Counter()
        self._unread: set[tuple[str, str]] = set()

    @property
    def stopping(self) -> int:
        """How many faults so far stop the reading; warnings are not counted."""
        return self._stopping

    def of(self, file: str) -> int:
        """Return how many faults that stop the reading were found in this file so far."""
        return self._in_file[file]

    def enough(self, file: str) -> bool:
        """Return whether so many faults of this file are known that no more will be told."""
        return self.of(file) >= MOST_FAULTS

    def add(self, file: str, line: int, what: str, fix: str = "", cell: str = "", column: str = "") -> None:
        """Note a fault that stops the reading; `cell` is where in a sheet of a workbook, `column` which of a table."""
        self._stopping += 1
        if (file, cell) in self._unread:
            return
        self._in_file[file] += 1
        if self.of(file) <= MOST_FAULTS + 1:  # one more may say that the rest was not read
            self._found.append(Fault(file, line, what, fix, cell=cell, column=column))

    def add_unread(self, file: str, line: int, what: str, fix: str, cell: str) -> None:
        """Note a cell of a sheet that could not be read at all: nothing more is told of it, not that it is missing."""
        self.add(file, line, what, fix, cell)
        self._unread.add((file, cell))

    def warn(self, file: str, line: int, what: str, fix: str = "", cell: str = "", column: str = "") -> None:
        """Note something that is probably not meant but can be worked with."""
        self._found.append(Fault(file, line, what, fix, warning=True, cell=cell, column=column))

    def in_order(self, files: Sequence[str]) -> tuple[Fault, ...]:
        """Return all, by file in the order given and then by line; other files come first."""
        place = {file: number for number, file in enumerate(files)}
        more = [
            Fault(file, 0, f"{count - MOST_FAULTS - 1} more faults are not told")
            for file, count in self._in_file.items()
            if count > MOST_FAULTS + 1
        ]
        found = sorted(self._found, key=lambda fault: fault.line)
        return tuple(sorted([*found, *more], key=lambda fault: place.get(fault.file, -1)))


def quoted(text: str, longest: int = SHOWN) -> str:
    """Return the text in double quotes, safe on any screen: unseen characters escaped, long text cut."""
    shown = text if len(text) <= longest else text[: longest - 1] + "…"
    return '"' + "".join(escaped(character) for character in shown) + '"'


def plain(word: str) -> str:
    """Return the word as it is compared: lower case, hyphens and underscores as single spaces."""
    return " ".join(word.casefold().replace("_", " ").replace("-", " ").split())


def nearest(word: str, known: Iterable[str]) -> str:
    """Return `did you mean "fondant"?` for the known word that is most like it, or an empty text."""
    by_plain = {plain(name[:SHOWN]): name for name in known}
    found = difflib.get_close_matches(plain(word[:SHOWN]), by_plain, n=1, cutoff=0.6)
    return f"did you mean {quoted(by_plain[found[0]])}?" if found else ""


def one_of(known: Iterable[str]) -> str:
    """Return `one of a, b, c`, at most a dozen and then how many more."""
    names = [quoted(name)[1:-1] for name in known]
    if not names:
        return "there is none yet"
    most = 12
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return "one of " + ", ".join(names[:most]) + more


@dataclass(frozen=True)
class Names:
    """What rows and keys may refer to by name, such as the sites of a farm."""

    ids: Mapping[str, str]
    """The id that each word means, the word as `key` makes it."""
    key: Callable[[str], str] = plain
    faulty: frozenset[str] = frozenset()
    """Words of things that are written down but had faults: no second fault is noted for them."""
    complete: bool = True
    """False where some could not be read at all, so that nothing can be called unknown."""

    def find(self, word: str) -> str:
        """Return the id that a word means, or an empty text."""
        return self.ids.get(self.key(word), "")

    def unknown(self, word: str) -> bool:
        """Return whether a word certainly means nothing."""
        return self.complete and self.key(word) not in self.ids and self.key(word) not in self.faulty

    def hint(self, word: str) -> str:
        """Return the nearest id as a question, or all of them; faulty ones too, since they are written down."""
        ids = sorted({*self.ids.values(), *self.faulty} - {""})
        return nearest(word, ids) or one_of(ids)
