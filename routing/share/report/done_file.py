"""A helper's report from a file or from what is piped in."""

from __future__ import annotations

import sys
from pathlib import Path

from routing.errors import ReportError
from routing.farm.faults import Faults
from routing.farm.texts import decoded
from routing.share.report.done import Done, read_done

PIPED = "-"
"""Stands in the place of a file for what is piped in."""


MOST_BYTES = 1_000_000
"""A larger file is no report."""


def read_done_file(path: Path) -> Done:
    """Return the report in a file, or in the standard input where the path is `-`. Raises ReportError."""
    faults = Faults()
    piped = str(path) == PIPED
    name = "input" if piped else path.name
    content = _read(path, name, faults, piped=piped)
    text = None if content is None else decoded(content, name, faults)
    if text is None:
        raise ReportError(faults.in_order([name]))
    return read_done(text, name)


def _read(path: Path, name: str, faults: Faults, *, piped: bool) -> bytes | None:
    """Return the bytes, no more than may be; None with a fault where there are none to be had."""
    try:
        if not piped and path.exists() and not path.is_file():
            faults.add(name, 0, "is not a file", "name the file of the report, or pipe it in with -")
            return None
        if piped:
            content = sys.stdin.buffer.read(MOST_BYTES + 1)
        else:
            with path.open("rb") as file:
                content = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        faults.add(name, 0, "there is no such file")
        return None
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        why = getattr(error, "strerror", None) or "its name cannot be"
        faults.add(name, 0, f"cannot be read: {why}")
        return None
    if len(content) > MOST_BYTES:
        faults.add(name, 0, f"is larger than {MOST_BYTES // 1_000_000} million bytes", "is it the right text?")
        return None
    return content
