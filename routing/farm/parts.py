"""Parts of a job that is shared out: how they are named, and how many hives each has."""

from __future__ import annotations

import re
from dataclasses import dataclass

SET_DOWN = "/set-down"
"""What follows the id of a job kind that moves hives where only its end is left: they are on the vehicle."""

_NAME = re.compile(r"(?P<whole>.+) part (?P<number>[1-9][0-9]{0,5}) of (?P<count>[1-9][0-9]{0,5})", re.DOTALL)


@dataclass(frozen=True)
class Part:
    """One of so many even parts of a job; a whole job is the only part of itself."""

    whole: str
    """The id of the job."""
    number: int = 1
    count: int = 1

    @property
    def words(self) -> str:
        """`part 1 of 2`."""
        return f"part {self.number} of {self.count}"

    @property
    def id(self) -> str:
        """The id of the part: `jobs.csv:7 part 1 of 2`."""
        return f"{self.whole} {self.words}" if self.count > 1 else self.whole

    def hives_of(self, hives: int) -> int:
        """Return how many of the job's hives are in this part: the first parts are the larger ones."""
        share, over = divmod(hives, self.count)
        return share + (self.number <= over)


def part_of(id_: str) -> Part:
    """Return the part that an id names, the whole job where it names none."""
    found = _NAME.fullmatch(id_)
    if found is None or int(found["number"]) > int(found["count"]):
        return Part(id_)
    return Part(found["whole"], int(found["number"]), int(found["count"]))
