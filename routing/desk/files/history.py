"""What was changed, so that each step can be taken back and made again to the byte."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

from routing.desk.files.saving import digest_of

MOST_STEPS = 500
MOST_KEPT_BYTES = 60_000_000


@dataclass(frozen=True)
class Step:
    """One file before and after a change; only what differs is kept. None is a file that is not there."""

    file: str
    what: str
    """What was changed, in words: `sites: 3 cells`."""
    before: str
    after: str
    """Digests."""
    at: int
    old: bytes | None
    new: bytes | None

    def undone(self, content: bytes | None) -> bytes | None:
        """Return the file as it was before, from what it is after."""
        return _put(content, self.at, self.new, self.old)

    def redone(self, content: bytes | None) -> bytes | None:
        """Return the file as it is after, from what it was before."""
        return _put(content, self.at, self.old, self.new)

    @property
    def size(self) -> int:
        """How many bytes it keeps."""
        return len(self.old or b"") + len(self.new or b"")


def step_of(file: str, what: str, before: bytes | None, after: bytes | None) -> Step:
    """Return the step from one content of a file to another."""
    told = file, what, digest_of(before), digest_of(after)
    if before is None or after is None:
        return Step(*told, 0, before, after)
    same = _same(before, after)
    tail = min(_same(before[::-1], after[::-1]), len(before) - same, len(after) - same)
    return Step(*told, same, before[same : len(before) - tail], after[same : len(after) - tail])


@dataclass
class History:
    """The steps that can be undone, and those that can be made again; the oldest are forgotten first."""

    done: deque[Step] = field(default_factory=deque)
    undone: list[Step] = field(default_factory=list)

    def add(self, step: Step) -> None:
        """Note a step that was made; what was undone before it cannot be made again."""
        self.done.append(step)
        self.undone.clear()
        while len(self.done) > MOST_STEPS or (
            len(self.done) > 1 and sum(one.size for one in self.done) > MOST_KEPT_BYTES
        ):
            self.done.popleft()


def _put(content: bytes | None, at: int, gone: bytes | None, put: bytes | None) -> bytes | None:
    if gone is None or put is None or content is None:
        return put
    return content[:at] + put + content[at + len(gone) :]


def _same(one: bytes, other: bytes) -> int:
    """Return how many bytes the two begin with alike."""
    low, high = 0, min(len(one), len(other))
    while low < high:
        middle = (low + high + 1) // 2
        if one[:middle] == other[:middle]:
            low = middle
        else:
            high = middle - 1
    return low
