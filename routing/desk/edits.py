"""The farmer's own files, changed from the page: kept to the byte but for what is edited, never written over silently.

A change is read as the farm would be with it before it is kept. What would add a fault is not written: the rows with it
are given back as drafts for the page to hold, the other rows are kept. Where a file had faults already, a change that
adds none is written. The file may have been changed elsewhere in between (another tab, a spreadsheet): then a change
goes into the newer content where it touches nothing that was changed there, else both are given back and nothing is
written. Undo and redo put the very bytes back, as long as nobody else changed the file since.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from routing.desk.files.changes import Change, NotEditedError
from routing.desk.files.history import History, Step, step_of
from routing.desk.files.judged import Origin, RowFault, faults_of, is_as_wanted, new_faults, origins
from routing.desk.files.rebase import Both, lines_now, moved
from routing.desk.files.saving import ChangedMeanwhileError, content_of, digest_of, save
from routing.desk.files.table_read import TableRead, read_table
from routing.desk.files.toml_edit import Step as Key
from routing.desk.files.toml_edit import Value, base_keys, toml_edited
from routing.desk.files.versions import version_of
from routing.errors import Fault, WriteError
from routing.farm.models import Place
from routing.farm.plain_files import NOTHING
from routing.farm.settings import FILE as SETTINGS
from routing.farm.tables import Row

MOST_TRIES = 5
MOST_VERSIONS = 24
MARK = 16
"""Letters of a mark."""
DECIMALS = 5
"""Of a degree, in places that are pointed at: about a metre."""
ELSEWHERE = "was changed elsewhere since then, and that would be lost: nothing was written"


@dataclass(frozen=True)
class Outcome:
    """What became of a change."""

    kept: bool
    """Whether something was written."""
    said: str = ""
    """What was done, or why not, in words."""
    drafts: tuple[RowFault, ...] = ()
    """Faults of rows that were not written, by where the row comes from in the change as it was sent."""
    faults: tuple[Fault, ...] = ()
    """Faults that the change would have made elsewhere, for which nothing was written."""
    both: tuple[Both, ...] = ()
    """Cells that were changed here and elsewhere, for which nothing was written."""
    merged: bool = False
    """Whether the file was changed elsewhere, and the change went into that."""
    lines: Mapping[int, int] = field(default_factory=dict)
    """The line that each row of the table that was sent has now."""
    added: Mapping[int, int] = field(default_factory=dict)
    """The line that each added row has now, by its number in the change as it was sent."""
    file: str = ""

    @property
    def refused(self) -> tuple[Fault, ...]:
        """All faults for which something was not written."""
        return (*self.faults, *(one.fault for one in self.drafts))

    @property
    def why_not(self) -> str:
        """Why nothing was written, a line for each fault."""
        return "\n".join(str(fault) for fault in self.refused) or self.said


class Edits:
    """The files of one farm folder, and what was changed in them since the desk was opened; for several threads."""

    def __init__(self, folder: Path) -> None:
        """Nothing is read until it is asked for."""
        self.folder = folder
        self._history = History()
        self._lock = threading.RLock()
        self._versions: OrderedDict[str, bytes | None] = OrderedDict()
        self._faulty: tuple[str, tuple[Fault, ...]] = ("", ())

    def table(self, name: str) -> TableRead:
        """Return a table as it stands. Raises NotEditedError for a file that cannot be read."""
        with self._lock:
            found = read_table(self.folder, name)
            self._remember(found.content)
            return found

    def faults(self) -> tuple[Fault, ...]:
        """Return all faults and warnings of the farm's files as they are, read once for each version of them."""
        with self._lock:
            try:
                version = version_of(self.folder)
            except OSError:
                return faults_of(self.folder)
            if version != self._faulty[0]:
                self._faulty = (version, faults_of(self.folder))
            return self._faulty[1]

    @property
    def can(self) -> tuple[str, str]:
        """What undo would take back and what redo would make again, in words; empty texts for nothing."""
        with self._lock:
            done, undone = self._history.done, self._history.undone
            return done[-1].what if done else "", undone[-1].what if undone else ""

    @property
    def mark(self) -> str:
        """Tells the steps that undo and redo would take apart from all others; a page that saw it knows which."""
        with self._lock:
            steps = [*list(self._history.done)[-1:], None, *self._history.undone[-1:]]
            told = [step and (step.file, step.before, step.after) for step in steps]
            return digest_of(repr(told).encode())[:MARK]

    def change(self, name: str, base: str, change: Change, what: str = "") -> Outcome:
        """Make a change of a table that was read with the digest `base`.

        Raises NotEditedError where it cannot be made without losing something, WriteError where it cannot be written.
        """
        with self._lock:
            for _ in range(MOST_TRIES):
                try:
                    return self._change(name, base, change, what or f"{name}: {change.rows} rows")
                except ChangedMeanwhileError:
                    continue
            raise WriteError(f"{name} changes all the time: close what writes it, and try again")

    def change_whole(self, name: str, base: str, change: Change, what: str = "") -> Outcome:
        """Make a change as `change` does, or nothing of it where a row of it would make a fault."""
        with self._lock:
            outcome = self.change(name, base, change, what)
            if outcome.kept and outcome.drafts:
                self.undo()
            return replace(outcome, kept=outcome.kept and not outcome.drafts)

    def _change(self, name: str, base: str, change: Change, what: str) -> Outcome:
        now = self.table(name)
        at = {row.line: row.line for row in now.rows}
        merged = now.digest != base
        if merged:
            if base not in self._versions:
                raise NotEditedError(f"{now.path.name} {ELSEWHERE}: load the table again")
            there = self._versions[base]
            old = read_table(self.folder, name, {now.path: there} if there is not None else NOTHING)
            at = lines_now(old, now)
            brought = moved(old, now, change)
            if brought.both:
                return Outcome(kept=False, both=brought.both, lines=at, file=now.file, said=_changed(now))
            change = brought.change
        outcome = self._judged(now, change, what)
        back = {there: here for here, there in at.items()}
        drafts = tuple(replace(one, origin=_back(one.origin, back)) for one in outcome.drafts)
        lines = {line: outcome.lines[there] for line, there in at.items() if there in outcome.lines}
        return replace(outcome, drafts=drafts, lines=lines, merged=merged, file=now.file)

    def _judged(self, now: TableRead, change: Change, what: str) -> Outcome:
        """Write the change, or of it the rows that add no fault."""
        before = self.faults()
        outcome = self._tried(now, change, before, what)
        lines = frozenset(number for kind, number in _rows(outcome) if kind == "line")
        added = frozenset(number for kind, number in _rows(outcome) if kind == "new")
        rest = change.without(lines, added)
        if outcome.kept or outcome.faults or not outcome.drafts or not rest.rows:
            return outcome
        second = self._tried(now, rest, before, what)
        if not second.kept:
            return outcome
        left = [number for number in range(len(change.added)) if number not in added]
        return replace(second, drafts=outcome.drafts, added={left[n]: line for n, line in second.added.items()})

    def _tried(self, now: TableRead, change: Change, before: tuple[Fault, ...], what: str) -> Outcome:
        ready = now.ready(change)
        content = now.edited(ready)
        instead = {now.path: content}
        wanted, then = origins(now, ready), read_table(self.folder, now.name, instead)
        if not is_as_wanted(wanted, then):
            raise NotEditedError(
                f"{now.path.name} would not be read as it is meant then: change it in a spreadsheet or an editor"
            )
        stays = {row.line: row.line for row in now.rows}
        whose = {row.line: origin for (origin, _), row in zip(wanted, _filled(then), strict=True)}
        found = new_faults(before, faults_of(self.folder, instead))
        if found:
            touched = {("line", line) for line in change.cells} | {("new", n) for n in range(len(change.added))}
            drafts = [RowFault(whose[one.line], one.column, one) for one in found if _here(one, then, whose)]
            elsewhere = tuple(one for one in found if not _here(one, then, whose))
            strange = tuple(one.fault for one in drafts if one.origin not in touched)
            return Outcome(kept=False, drafts=tuple(drafts), faults=(*elsewhere, *strange), lines=stays)
        if content != now.content:
            self._write(now.path.name, what, now.content, content)
        lines = {number: line for line, (kind, number) in whose.items() if kind == "line"}
        new = {number: line for line, (kind, number) in whose.items() if kind == "new"}
        return Outcome(kept=True, said=what, lines=lines, added=new)

    def settings(self) -> bytes:
        """Return what stands in farm.toml, empty where there is none. Raises OSError."""
        with self._lock:
            content = content_of(self.folder / SETTINGS)
            self._remember(content)
            return content or b""

    def change_settings(self, base: str, values: Mapping[tuple[Key, ...], Value], what: str = SETTINGS) -> Outcome:
        """Set values of farm.toml, which was read with the digest `base`; what would add a fault is not written.

        Raises NotEditedError and WriteError as `change` does.
        """
        with self._lock:
            content = self.settings()
            if digest_of(content) != base:
                return Outcome(
                    kept=False, said=f"{SETTINGS} {ELSEWHERE}", file=SETTINGS, both=(Both(0, "", "", "", ""),)
                )
            new = toml_edited(content, SETTINGS, values)
            found = new_faults(self.faults(), faults_of(self.folder, {self.folder / SETTINGS: new}))
            if found:
                return Outcome(kept=False, faults=tuple(found), file=SETTINGS)
            try:
                self._write(SETTINGS, what, content, new)
            except ChangedMeanwhileError:
                return Outcome(
                    kept=False, said=f"{SETTINGS} {ELSEWHERE}", file=SETTINGS, both=(Both(0, "", "", "", ""),)
                )
            return Outcome(kept=True, said=what, file=SETTINGS)

    def move_base(self, place: Place) -> Outcome:
        """Write where the base is, in the way in which farm.toml says it. Raises as `change_settings` does."""
        content = self.settings()
        north, east = round(place.latitude, DECIMALS), round(place.longitude, DECIMALS)
        said = base_keys(content, SETTINGS)
        values: dict[tuple[Key, ...], Value] = {("base", "place"): f"{north:.{DECIMALS}f}, {east:.{DECIMALS}f}"}
        if "place" not in said and "latitude" in said:
            values = {("base", "latitude"): north, ("base", "longitude"): east}
        return self.change_settings(digest_of(content), values, "The base: its place")

    def undo(self) -> Outcome:
        """Put back the bytes from before the last change. Raises WriteError where they cannot be written."""
        with self._lock:
            if not self._history.done:
                return Outcome(kept=False, said="nothing to undo")
            step = self._history.done[-1]
            outcome = self._stepped(step, step.after, step.undone)
            if outcome.kept:
                self._history.undone.append(self._history.done.pop())
            return outcome

    def redo(self) -> Outcome:
        """Make the change again that was undone last. Raises WriteError where it cannot be written."""
        with self._lock:
            if not self._history.undone:
                return Outcome(kept=False, said="nothing to make again")
            step = self._history.undone[-1]
            outcome = self._stepped(step, step.before, step.redone)
            if outcome.kept:
                self._history.done.append(self._history.undone.pop())
            return outcome

    def _stepped(self, step: Step, expected: str, turned: Callable[[bytes | None], bytes | None]) -> Outcome:
        content = content_of(self.folder / step.file)
        elsewhere = Outcome(kept=False, said=f"{step.file} {ELSEWHERE}", file=step.file)
        if digest_of(content) != expected:
            return elsewhere
        try:
            save(self.folder, step.file, expected, turned(content))
        except ChangedMeanwhileError:
            return elsewhere
        return Outcome(kept=True, said=step.what, file=step.file)

    def _write(self, file: str, what: str, before: bytes | None, after: bytes) -> None:
        save(self.folder, file, digest_of(before), after)
        self._history.add(step_of(file, what, before, after))
        self._remember(after)

    def _remember(self, content: bytes | None) -> None:
        """Keep a content by its digest, so that a page that read it can be told what was changed since."""
        self._versions[digest_of(content)] = content
        self._versions.move_to_end(digest_of(content))
        while len(self._versions) > MOST_VERSIONS:
            self._versions.popitem(last=False)


def _changed(table: TableRead) -> str:
    return f"{table.path.name} was changed elsewhere in the same place: nothing was written yet"


def _filled(table: TableRead) -> list[Row]:
    return [row for row in table.rows if any(row.cells.values())]


def _here(fault: Fault, table: TableRead, whose: Mapping[int, Origin]) -> bool:
    return fault.file == table.file and fault.line in whose


def _rows(outcome: Outcome) -> set[Origin]:
    return {one.origin for one in outcome.drafts}


def _back(origin: Origin, back: Mapping[int, int]) -> Origin:
    kind, number = origin
    return (kind, back.get(number, number)) if kind == "line" else origin
