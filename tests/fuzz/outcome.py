"""What became of one input: nothing to tell, or a finding with a name that is the same for the same fault."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from routing.errors import FarmError, OutyardError
from tests.fuzz.inputs import Files

MOST_SECONDS = 2.0
"""Of the processor; a small input that takes longer is a finding too."""
UNSEEN = frozenset(chr(code) for code in (*range(32), *range(127, 160), 0x2028, 0x2029, 0x202A, 0x202E)) - {"\n", "\t"}
"""What is never printed: a terminal would obey it."""


class PromiseBrokenError(AssertionError):
    """The program answered, but not as it promises to."""


@dataclass(frozen=True)
class Finding:
    """A fault that an input brings about."""

    name: str
    """`ValueError-farm.values-114`: the kind of error and the innermost place in our code that it came from."""
    told: str
    """What a person is shown of it."""


def finding_of(run: Callable[[Files], None], files: Files) -> Finding | None:
    """Return what running a target on an input brings to light, None where all is as it should be.

    An error that the program raises on purpose is no finding, unless it says nothing.
    """
    begun = time.process_time()
    found = None
    try:
        run(files)
    except OutyardError as error:
        found = wordless(lines_of(error))
    except KeyboardInterrupt:
        raise
    except BaseException as error:  # noqa: BLE001 - to find whatever nobody foresaw is what this is for
        found = Finding(_name(error), f"{type(error).__name__}: {str(error)[:300]}")
    seconds = time.process_time() - begun
    return found or (Finding("slow", f"took {seconds:.1f} s of the processor") if seconds > MOST_SECONDS else None)


def lines_of(error: OutyardError) -> tuple[str, ...]:
    """Return the lines that a farmer is told of an error."""
    return tuple(map(str, error.faults)) if isinstance(error, FarmError) else tuple(str(error).split("\n"))


def wordless(lines: Iterable[str]) -> Finding | None:
    """Return a finding where an error has a line without a word."""
    if all(line.strip() for line in lines):
        return None
    return Finding("empty-line", "an error was told without a word")


def _name(error: BaseException) -> str:
    """Return a name by the innermost frame of our own code, or of the test where it never came so far."""
    where, trace = "nowhere", error.__traceback__
    while trace is not None:
        module = str(trace.tb_frame.f_globals.get("__name__", ""))
        if module.startswith("routing."):
            where = f"{module.removeprefix('routing.')}-{trace.tb_frame.f_code.co_name.strip('<>')}"
        trace = trace.tb_next
    told = "" if where != "nowhere" or not isinstance(error, PromiseBrokenError) else f"-{str(error).split(':')[0]}"
    return f"{type(error).__name__}-{where}{told}".replace(" ", "-")[:80]
