"""Makes an input that brings about a finding as small as a person would like to read it."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence

from tests.fuzz.inputs import Files

MOST_SECONDS = 40.0
LONGEST_BY_BYTES = 3000
Still = Callable[[Files], bool]
"""Whether an input brings about the same finding."""


def shrunk(files: Files, still: Still, seconds: float = MOST_SECONDS) -> Files:
    """Return the smallest input found in this time: fewer files, lines, cells, words and bytes."""
    until = time.monotonic() + seconds
    best = dict(files)
    for name in list(best):
        fewer = {key: content for key, content in best.items() if key != name}
        if still(fewer):
            best = fewer
    again = True
    while again and time.monotonic() < until:
        again = False
        for name in best:
            smaller = _smaller(best[name], lambda content, name=name: still({**best, name: content}), until)  # type: ignore[misc]
            again |= len(smaller) < len(best[name])
            best[name] = smaller
    return best


def _smaller(content: bytes, still: Callable[[bytes], bool], until: float) -> bytes:
    for separator in (b"\n", b",", b" "):
        parts = _fewer(content.split(separator), lambda parts, by=separator: still(by.join(parts)), until)  # type: ignore[misc]
        content = separator.join(parts)
    if len(content) <= LONGEST_BY_BYTES:
        letters = [bytes([byte]) for byte in content]
        content = b"".join(_fewer(letters, lambda some: still(b"".join(some)), until))
    return content


def _fewer(parts: Sequence[bytes], still: Callable[[Sequence[bytes]], bool], until: float) -> Sequence[bytes]:
    """Take away ever smaller runs of the parts for as long as the finding stays."""
    run = max(1, len(parts) // 2)
    while run and time.monotonic() < until:
        at = 0
        while at < len(parts) and time.monotonic() < until:
            without = [*parts[:at], *parts[at + run :]]
            if len(parts) > run and still(without):
                parts = without
            else:
                at += run
        run //= 2
    return parts
