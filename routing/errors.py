"""Every error that the package raises on purpose, each with what, where and what to do.

OutyardError
├── FarmError (ValueError)     the farm folder cannot be read; carries all faults at once
│   └── ReportError            a helper's report of the day cannot be read; carries all faults at once
├── PlaceError (ValueError)    a text is not a place on the earth
├── AskedError (ValueError)    the request cannot be met: a date, a site or an option
├── RoadError (ValueError)     the road map is missing, broken or does not cover a site
├── LogError (OSError)         the log cannot be opened or written; what it held it still holds
├── WriteError (OSError)       a result could not be written; nothing was changed
└── CheckFailed (RuntimeError) nothing of a round keeps its promises: a bug of ours, never shown as a plan
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True, order=True)
class Fault:
    """One problem in a farm folder: one line for the farmer.

    `line` is the line in the file, counted from 1 with the header as line 1, or 0 where no line applies.
    A `warning` does not stop the reading. `cell` is where in a sheet of a workbook, such as C7; `file` then names the
    sheet too: `farm.xlsx, Jobs!C7`. `column` is that of a table, where the problem is in one cell; it is not shown.
    """

    file: str
    line: int
    what: str
    fix: str = ""
    warning: bool = False
    cell: str = ""
    column: str = field(default="", compare=False)

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}" if self.line else self.file
        if self.cell:
            where = f"{self.file}!{self.cell}"
        return f"{where}: {self.told}"

    @property
    def told(self) -> str:
        """What is wrong and what to do, where the place is plain."""
        return self.what + (f"; {self.fix}" if self.fix else "")


class OutyardError(Exception):
    """Anything that went wrong for a reason the farmer can act on."""


class FarmError(OutyardError, ValueError):
    """The farm folder has faults; `faults` holds every one of them, warnings too."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class ReportError(FarmError):
    """A report of what was done has faults; `faults` holds every one of them, nothing of it was used."""


class PlaceError(OutyardError, ValueError):
    """A text is not a place: the message says what was understood and which forms are."""


class AskedError(OutyardError, ValueError):
    """What was asked for cannot be done as asked; the message says what to ask instead."""


class RoadError(OutyardError, ValueError):
    """The road map cannot be used; the message names the file, the trouble and the way out."""


class LogError(OutyardError, OSError):
    """The log cannot be opened or written; the message says why and what to do, and nothing in it was changed."""


class WriteError(OutyardError, OSError):
    """A result could not be written; what stood there before still stands."""


class CheckFailed(OutyardError, RuntimeError):  # noqa: N818 - it reads as the sentence it stands for
    """A planned round broke a promise. `broken` lists each, in words."""

    def __init__(self, broken: Sequence[str]) -> None:
        self.broken = tuple(broken)
        super().__init__("the planned round failed its own check:\n" + "\n".join(self.broken))
