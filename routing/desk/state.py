"""What one desk holds: who may come in, the farm that is open, and the version of its files."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from routing import stages
from routing.desk.access import Access
from routing.desk.files.versions import version_of
from routing.desk.recent import Recent, usual_downloads, usual_farms
from routing.errors import AskedError
from routing.lazily import imported

if TYPE_CHECKING:
    from routing.desk.edits import Edits
    from routing.desk.planner import Planner
    from routing.farm.models import Farm

_MARK = 16
"""Letters of a mark: enough that no two farms or versions on one computer share one."""


def _nothing() -> None: ...


def _unforeseen(error: Exception) -> str:
    return f"The program met a fault of its own ({type(error).__name__}), which is not a fault of your folder."


@dataclass(frozen=True)
class _Opened:
    """A farm's folder, and the farm that was last read from it."""

    folder: Path
    reading: Lock = field(default_factory=Lock)
    read: dict[tuple[str, bool], Farm] = field(default_factory=dict)
    """By version of the files, and whether with what the record teaches; only of one version."""

    @cached_property
    def edits(self) -> Edits:
        """What is changed in its files."""
        edits: Edits = imported("routing.desk.edits").Edits(self.folder)  # the first page changes nothing
        return edits


@dataclass(eq=False)
class Desk:
    """One desk; views get it with each request. Nothing in it is written to disk but the list of farms opened last."""

    access: Access
    recent: Recent
    leave: Callable[[], None] = _nothing
    """Closes the desk."""
    fault: Callable[[Exception], str] = _unforeseen
    """Returns what is told of an error that nobody foresaw."""
    paths: frozenset[str] = frozenset()
    """The paths that there are routes for."""
    farms: Path = field(default_factory=usual_farms)
    """The folder that new farms are made in."""
    downloads: Path = field(default_factory=usual_downloads)
    """The one folder outside of a farm's in which road maps are looked for."""
    changing: Lock = field(default_factory=Lock)
    """Held while a request changes something: one after the other, from whichever tab."""
    planners: dict[str, Planner] = field(default_factory=dict)
    """What is being planned, by the mark of the farm."""
    _opened: _Opened | None = None

    @property
    def folder(self) -> Path:
        """The folder of the farm that is open. Raises AskedError where none is."""
        if self._opened is None:
            raise AskedError("no farm is open; open one first")
        return self._opened.folder

    @property
    def edits(self) -> Edits:
        """What is changed in the open farm's files, with undo and redo. Raises AskedError where none is open."""
        if self._opened is None:
            raise AskedError("no farm is open; open one first")
        return self._opened.edits

    @property
    def has_farm(self) -> bool:
        """Whether a farm is open."""
        return self._opened is not None

    @property
    def mark(self) -> str:
        """Tells the open farm apart from others, in pages; empty where none is open. It gives no path away."""
        return _mark(str(self._opened.folder)) if self._opened else ""

    def open(self, folder: Path) -> None:
        """Open the farm of a folder, whatever its files hold, and remember it."""
        self._opened = _Opened(folder.absolute())
        self.recent.remember(folder)

    def version(self) -> str:
        """Return what changes when a file directly in the farm's folder does: its name, size, time or place on disk."""
        return version_of(self.folder)

    def farm(self) -> Farm:
        """Return the farm as commands plan it: with its forecast and what its record teaches. Raises OutyardError."""
        return self._farm(taught=True)

    def written_farm(self) -> Farm:
        """Return the farm as its files say, with its forecast. Raises OutyardError."""
        return self._farm(taught=False)

    def _farm(self, *, taught: bool) -> Farm:
        opened = self._opened
        if opened is None:
            raise AskedError("no farm is open; open one first")
        with opened.reading:
            try:
                key = (self.version(), taught)
            except OSError:
                key = ("", taught)  # whoever reads the folder says what is wrong with it
            if key not in opened.read or not key[0]:
                farm = stages.read.farm_in(opened.folder) if taught else stages.read.as_written(opened.folder)
                for old in [known for known in opened.read if known[0] != key[0]]:
                    del opened.read[old]
                opened.read[key] = farm
            return opened.read[key]


def today(farm: Farm) -> dt.date:
    """Return the date of now in the farm's time zone."""
    return dt.datetime.now(ZoneInfo(farm.time_zone)).date()


def _mark(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:_MARK]
