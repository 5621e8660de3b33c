"""Job kinds that may not be at one site together, such as medicine strips and supers for honey: data, not code.

A kind names the others under `not_with`, and the kind that ends what it leaves on the hives under `stays_until`. The
product's label decides; where it allows both, a farm empties `not_with` for its own farm.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping

from routing.farm.documents import Keys, as_text
from routing.farm.faults import Faults, nearest, one_of, quoted
from routing.farm.models import Job, JobKind, Site
from routing.farm.values import LONGEST_NOTE

KEYS = ("stays_until", "not_with", "not_with_source")


def read_apart(keys: Keys, base: JobKind | None) -> dict[str, object]:
    """Return the fields of a job kind that say what it may not be beside; what is not given is as in `base`."""
    not_with = keys.texts("not_with") if "not_with" in keys else (base.not_with if base else ())
    source = base.not_with_source if base else ""
    if "not_with" in keys:
        source = keys.document.source
    return {
        "stays_until": keys.take("stays_until", as_text, base.stays_until if base else ""),
        "not_with": not_with,
        "not_with_source": keys.text("not_with_source", source, LONGEST_NOTE),
    }


def check_apart(table: Keys, kinds: Mapping[str, JobKind]) -> None:
    """Note a fault for each job kind that a kind of the table names here and that there is none of."""
    for key in table:
        kind, keys = kinds.get(key), table.table(key)
        if kind is None:
            continue
        named = {"stays_until": (kind.stays_until,) if kind.stays_until else (), "not_with": kind.not_with}
        for field, words in named.items():
            for word in words:
                if word not in kinds:
                    hint = nearest(word, kinds) or one_of(kinds)
                    keys.fault(field, f"{field} names no job kind: {quoted(word)}", hint)


def clashes(kinds: Mapping[str, JobKind]) -> dict[str, frozenset[str]]:
    """Return for each job kind those that it may not be beside, whichever of the two says so; others are not in it."""
    found: dict[str, set[str]] = {}
    for kind in kinds.values():
        for other in kind.not_with:
            found.setdefault(kind.id, set()).add(other)
            found.setdefault(other, set()).add(kind.id)
    return {key: frozenset(others) for key, others in found.items()}


def why_apart(one: JobKind, other: JobKind) -> str:
    """Return who says that the two may not be together, for the farmer."""
    return one.not_with_source or other.not_with_source


def label_decides(one: JobKind, other: JobKind) -> str:
    """Return how to say that a label allows the two together."""
    holder = one if other.id in one.not_with else other
    where = f"[job_kind.{holder.id}] in farm.toml"
    return f"the product's label decides: where it allows both, write not_with = [] under {where}"


def refuse_clashes(
    rows: Iterable[Job],
    kinds: Mapping[str, JobKind],
    sites: Mapping[str, Site],
    file: str,
    faults: Faults,
    place: Callable[[int], str],
) -> None:
    """Note a fault on each row that asks for a job at the same site and time as one that it may not be beside.

    `place` gives the cell of a line, empty where the rows are of no sheet.

    Where the two together are for no more hives than the site has, they may be meant for different ones: a warning.
    """
    clashing = clashes(kinds)
    before: dict[str, list[Job]] = {}
    for job in rows:
        for other in before.get(job.site, ()):
            if other.kind in clashing.get(job.kind, ()) and _same_time(job, other):
                one, two = kinds[job.kind], kinds[other.kind]
                where = f"{quoted(job.kind)} at site {quoted(job.site)}"
                what = f"{where} and {quoted(other.kind)} on line {other.line} may not be there together"
                fix = f"part their dates; {label_decides(one, two)}"
                cell = place(job.line)
                if job.hives + other.hives <= sites[job.site].colonies:
                    faults.warn(file, job.line, f"{what} on the same hives", "see that they are different ones", cell)
                else:
                    faults.add(file, job.line, f"{what} ({why_apart(one, two)})", fix, cell)
        before.setdefault(job.site, []).append(job)


def _same_time(one: Job, other: Job) -> bool:
    """Return whether some day is open to both."""
    starts = max(one.not_before or dt.date.min, other.not_before or dt.date.min)
    return starts <= min(one.due_by or dt.date.max, other.due_by or dt.date.max)
