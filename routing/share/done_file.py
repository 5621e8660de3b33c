"""A helper's report from a file or from what is piped in."""

from __future__ import annotations

import sys
from pathlib import Path

from routing.errors import ReportError
from routing.farm.faults import Faults
from routing.farm.texts import decoded, read_text
from routing.share.done import Done, read_done

PIPED = "-"
"""Stands in the place of a file for what is piped in."""


def read_done_file(path: Path) -> Done:
    """Return the report in a file, or in the standard input where the path is `-`. Raises ReportError."""
    faults = Faults()
    piped = str(path) == PIPED
    name = "input" if piped else path.name
    text = decoded(sys.stdin.buffer.read(), name, faults) if piped else read_text(path, faults)
    if text is None:
        raise ReportError(faults.in_order([name]))
    return read_done(text, name)
