"""Entries held against the farm before they are written, and the cautions that go with them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from pydantic import ValidationError

from routing.errors import AskedError
from routing.farm.faults import nearest, one_of, quoted
from routing.farm.models import Farm
from routing.farm.naming import kind_named, site_named
from routing.farm.year_words import CLEAR, EVENTS, SUSPECT
from routing.season.due import DueItem
from routing.season.entries import DISEASE_CAUTION, MEDICINE_CAUTION, Cancellation, Entry, Record

ALL_SITES = "all"
MEDICINE_WORD = "Medicine:"
"""Job kinds one of whose cautions begins so give or take out a medicine."""


def new_entries(farm: Farm, today: dt.date, site: str, given: Mapping[str, object]) -> tuple[Entry, ...]:
    """Return the entry for a site, or one for each where the site is `all`, from values as they were typed.

    Raises AskedError where a site, kind or material is not the farm's, the date is to come, or a value cannot be.
    """
    sites = [place.id for place in farm.sites] if site.casefold() == ALL_SITES else [site_named(farm, site)]
    kind = kind_named(farm, str(given.get("kind", "")), EVENTS)
    materials = given.get("materials")
    for material in materials if isinstance(materials, dict) else ():
        _known(material, tuple(farm.materials), "material")
    try:
        entries = tuple(Entry.model_validate({**given, "site": name, "kind": kind}) for name in sites)
    except ValidationError as error:
        raise AskedError("; ".join(_problem(problem) for problem in error.errors())) from error
    if entries and entries[0].date > today:
        raise AskedError(f"{entries[0].date} is still to come: the log holds what was done")
    return entries


def entry_cautions(farm: Farm, entries: Sequence[Entry]) -> tuple[str, ...]:
    """Return what to beware of after entries: medicines, what their record lacks, suspect brood."""
    lines = []
    for entry in entries:
        kind = farm.job_kinds.get(entry.kind)
        treats = kind is not None and any(caution.startswith(MEDICINE_WORD) for caution in kind.cautions)
        if entry.medicine and entry.medicine.missing:
            lines.append("Not written yet and asked for by law: " + ", ".join(entry.medicine.missing) + ".")
        elif treats and entry.medicine is None:
            lines.append(
                "No medicine was written with it. The law asks for product, batch, dose, amount, withdrawal, colonies "
                "and purchase: undo this entry and write it again with --product, --batch and the rest."
            )
        if treats or entry.medicine:
            lines.append(MEDICINE_CAUTION)
        if SUSPECT in entry.seen:
            lines.append(DISEASE_CAUTION)
    return tuple(dict.fromkeys(lines))


def suspects(record: Record, on: dt.date) -> tuple[tuple[str, dt.date], ...]:
    """Return each site where suspect brood was seen and the inspector's all-clear is not logged, with the last date."""
    found: dict[str, dt.date] = {}
    for entry in record.entries:
        if entry.date <= on and CLEAR in entry.seen:
            found.pop(entry.site, None)
        elif entry.date <= on and SUSPECT in entry.seen:
            found[entry.site] = entry.date
    return tuple(sorted(found.items()))


def require_healthy_moves(farm: Farm, record: Record, on: dt.date) -> None:
    """Raise AskedError where a row moves hives from or to a site with suspect brood that is not cleared."""
    seen = dict(suspects(record, on))
    lines = [
        f"{farm.row_of(job)}: suspect brood was seen at site {quoted(end)} on {seen[end]}, "
        "so no hives are moved from or to it; "
        "take the row out and ask the bee inspector, or log the all-clear (--seen inspector-clear)"
        for job in farm.jobs
        for end in (job.site, job.to)
        if job.to and end in seen
    ]
    if lines:
        raise AskedError("\n".join(lines))


def cancelled(
    farm: Farm, items: Sequence[DueItem], rule: str, site: str, today: dt.date, why: str
) -> tuple[Cancellation, ...]:
    """Return the cancellation of a rule's open due date at a site, or at every one where the site is `all`.

    Where one was missed in a season that is over and another is open, the one that was missed is cancelled first.

    Raises AskedError where nothing of that rule is listed there, or no reason is given.
    """
    if not why.strip():
        raise AskedError("say why it is cancelled: --why")
    ruled = [item for item in items if item.rule == rule]
    if not ruled:
        rules = sorted({item.rule for item in items})
        raise AskedError(f"nothing of rule {quoted(rule)} is due or coming; {nearest(rule, rules) or one_of(rules)}")
    named = "" if site.casefold() == ALL_SITES else site_named(farm, site)
    first = {item.site: item for item in sorted(ruled, key=lambda item: item.due, reverse=True)}
    wanted = [item for item in first.values() if named in {"", item.site}]
    if not wanted:
        raise AskedError(f"{rule} is not due at {quoted(site)}; {one_of(item.site for item in ruled)}")
    try:
        return tuple(
            Cancellation(rule=rule, site=item.site, due=item.due, closes_on=item.closes_on, date=today, why=why)
            for item in wanted
        )
    except ValidationError as error:
        raise AskedError("; ".join(_problem(problem) for problem in error.errors())) from error


def _known(word: str, known: Sequence[str], what: str) -> None:
    if word not in known:
        raise AskedError(f"{what} {quoted(word)} is not known; {nearest(word, known) or one_of(known)}")


def _problem(problem: Mapping[str, object]) -> str:
    where = problem.get("loc")
    name = " ".join(str(part) for part in where) if isinstance(where, tuple) else ""
    why = str(problem.get("msg", "")).removeprefix("Value error, ")
    return f"{name}: {quoted(why, len(why))[1:-1]}"
