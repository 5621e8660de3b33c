"""What a report says of a job beyond its tick: its kind, at how many hives, what was used, what stores were found."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from pydantic import AwareDatetime, Field

from routing.farm.models import Frozen
from routing.farm.unfit import UnfitError
from routing.farm.values import identity, number

MOST_HIVES = 5000
_HIVES = re.compile(r"(\d{1,4}) of (\d{1,4})", re.ASCII)
_USED = re.compile(r"(\S+)\s+(.+)")


class ReportedJob(Frozen):
    """One job of the report."""

    id: str
    ticked: AwareDatetime | None
    """When the helper ticked it off or said how many hives, UTC; None where it is left to do."""
    kind: str = ""
    """The id of its job kind; empty where the report does not say."""
    hives: int | None = None
    """Done at so many hives; None where the report does not say."""
    of_hives: int | None = None
    """The hives of the job."""
    used: dict[str, float] = Field(default_factory=dict)
    """Units used of each material, where that was another amount than reckoned."""
    stores_kg: float | None = None
    """Stores of an average colony, as hefted."""

    @property
    def part(self) -> bool:
        """Whether it was done at some of its hives, and the rest is left to do."""
        return self.hives is not None and self.of_hives is not None and 0 < self.hives < self.of_hives


def with_detail(job: ReportedJob, word: str, value: str) -> ReportedJob:
    """Return the job with one more line of the report read. Raises UnfitError with what that line should hold."""
    return job.model_copy(update=DETAILS[word](job, value))


def _kind(_job: ReportedJob, value: str) -> dict[str, object]:
    return {"kind": identity(value)}


def _hives(_job: ReportedJob, value: str) -> dict[str, object]:
    found = _HIVES.fullmatch(value)
    if found is None or not int(found[1]) <= int(found[2]) <= MOST_HIVES:
        raise UnfitError("is not so many of so many hives, such as 9 of 14")
    return {"hives": int(found[1]), "of_hives": int(found[2])}


def _used(job: ReportedJob, value: str) -> dict[str, object]:
    found = _USED.fullmatch(value)
    if found is None:
        raise UnfitError("is not an amount and a material, such as 12.5 fondant")
    return {"used": {**job.used, identity(found[2]): number(0, 1_000_000)(found[1])}}


def _stores(_job: ReportedJob, value: str) -> dict[str, object]:
    return {"stores_kg": number(0, 100)(value)}


DETAILS: Mapping[str, Callable[[ReportedJob, str], dict[str, object]]] = {
    "kind": _kind,
    "hives": _hives,
    "used": _used,
    "stores": _stores,
}
"""The parser of each such line."""
