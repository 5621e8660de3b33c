"""sites.csv: one row for each out-apiary."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from routing.farm.faults import Faults, Names, quoted
from routing.farm.location import doubt, kilometres, parking_of, place_of, same_spots
from routing.farm.models import BASE, Hours, Place, Site
from routing.farm.tables import Cells, Columns, Table
from routing.farm.values import (
    LONGEST_NAME,
    LONGEST_NOTE,
    DaysOff,
    days,
    hours,
    identity,
    number,
    text_up_to,
    whole,
    yes_or_no,
)

FILE = "sites.csv"
COLUMNS = Columns(
    known=(
        *("id", "name", "place", "latitude", "longitude", "hives", "nucs", "hours", "closed", "vehicle_needed"),
        *("parking", "walking_minutes", "last_of_day", "notes", "gate_code", "phone", "private_notes"),
    ),
    required=("id", "hives"),
    also={"lat": "latitude", "lon": "longitude", "long": "longitude", "lng": "longitude"},
)
MOST_HIVES = 5000
LONG_WALK_KM = 2.0
"""Farther from a stopping place hives are taken for a slip of the finger."""


@dataclass(frozen=True)
class Sites:
    """The sites that could be read, and the names by which other files may mean them."""

    sites: tuple[Site, ...]
    names: Names
    by_word: Mapping[str, Site]

    def find(self, word: str) -> Site | None:
        """Return the site that a word means, or None."""
        return self.by_word.get(self.names.key(word))


def read_sites(folder: Path, base: Place | None, reaches: Names, faults: Faults) -> Sites:
    """Return the sites of the folder; faults are noted and their rows left out.

    `reaches` holds the special needs that the vehicles meet, `base` the place of the base where it is known.
    """
    sites: list[Site] = []
    lines: dict[str, int] = {}
    table = Table(folder / FILE, COLUMNS, faults, "it has one row for each out-apiary")
    for row in table:
        cells = Cells(row, faults)
        site = _site(cells, reaches)
        key = cells.raw("id").casefold()
        if key in lines:
            cells.fault(f"id {quoted(cells.raw('id'))} is already used on line {lines[key]}")
        elif site is not None:
            _doubts(cells, site, base, reaches)
            sites.append(site)
        lines.setdefault(key, row.line)
    if not lines and not table.broken:
        faults.add(FILE, 0, "has no site", "write one row for each out-apiary")
    for site, other, metres in same_spots(sites):
        what = f"site {quoted(site.id)} is {metres:.0f} m from site {quoted(other.id)} (line {other.line})"
        faults.warn(FILE, site.line, what, "are they one site?")
    by_word = {site.id.casefold(): site for site in sites}
    ids = {word: site.id for word, site in by_word.items()}
    names = Names(ids, str.casefold, frozenset(lines) - ids.keys(), complete=bool(lines) and not table.broken)
    return Sites(tuple(sites), names, by_word)


def _site(cells: Cells, reaches: Names) -> Site | None:
    site_id = cells.required("id", identity)
    if site_id.casefold() == BASE:
        cells.fault(f"no site may have the id {quoted(site_id)}: it means the place where the day starts")
    place, parking = place_of(cells), parking_of(cells)
    if not cells.raw("hives"):
        cells.fault("hives is missing", "write 0 where there is none")
    hives = cells.take("hives", whole(0, MOST_HIVES), 0)
    closed = cells.take("closed", days, DaysOff())
    needed = cells.take("vehicle_needed", text_up_to(LONGEST_NAME), "")
    always: tuple[Hours, ...] = ()
    note = text_up_to(LONGEST_NOTE, many_lines=True)
    site = {
        "name": cells.take("name", text_up_to(LONGEST_NAME), "") or site_id,
        "parking": parking,
        "hives": hives,
        "nucs": cells.take("nucs", whole(0, MOST_HIVES), 0),
        "hours": cells.take("hours", hours, always),
        "closed_weekdays": closed.weekdays,
        "closed_dates": closed.dates,
        "vehicle_needed": reaches.find(needed) or needed,
        "walking_minutes": cells.take("walking_minutes", number(0, 240), 0.0),
        "last_of_day": cells.take("last_of_day", yes_or_no, default=False),
        "notes": cells.take("notes", note, ""),
        "gate_code": cells.secret("gate_code", text_up_to(LONGEST_NAME)),
        "phone": cells.secret("phone", text_up_to(LONGEST_NAME)),
        "private_notes": cells.secret("private_notes", note),
    }
    if place is None or not cells.ok:
        return None
    return Site.model_validate({"id": site_id, "place": place, "line": cells.row.line, **site})


def _doubts(cells: Cells, site: Site, base: Place | None, reaches: Names) -> None:
    what, look_at = doubt(site.place, base)
    if what:
        cells.warn(f"site {quoted(site.id)} {what}", look_at)
    if site.parking is not None and (away := kilometres(site.place, site.parking)) > LONG_WALK_KM:
        cells.warn(f"parking of site {quoted(site.id)} is {away:.1f} km from its hives", "check both places")
    if site.vehicle_needed and reaches.unknown(site.vehicle_needed):
        needed = quoted(site.vehicle_needed)
        cells.warn(f"vehicle_needed {needed} is in the reaches of no vehicle", reaches.hint(site.vehicle_needed))
