"""sites.csv: one row for each out-apiary."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from routing.farm.faults import Faults, Names, quoted
from routing.farm.location import doubt, kilometres, parking_of, place_of, same_spots
from routing.farm.models import BASE, Hours, Place, Site
from routing.farm.sources import Sources
from routing.farm.tables import Cells, Columns
from routing.farm.values import (
    LONGEST_NAME,
    LONGEST_NOTE,
    DaysOff,
    days_by,
    hours,
    identity,
    number,
    text_up_to,
    whole,
    yes_or_no,
)
from routing.farm.ways import Ways

FILE = "sites.csv"
TABLE = "sites"
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
    file: str = FILE
    """The file, or the file and its sheet, that they were read from."""

    def find(self, word: str) -> Site | None:
        """Return the site that a word means, or None."""
        return self.by_word.get(self.names.key(word))


def read_sites(sources: Sources, base: Place | None, reaches: Names, faults: Faults) -> Sites:
    """Return the sites of the folder; faults are noted and their rows left out.

    `reaches` holds the special needs that the vehicles meet, `base` the place of the base where it is known.
    """
    sites: list[Site] = []
    lines: dict[str, int] = {}
    table = sources.table(TABLE, COLUMNS, "it has one row for each out-apiary")
    for row in table or ():
        cells = Cells(row, faults)
        site = site_of(cells, base, reaches, sources.ways)
        key = cells.raw("id").casefold()
        if key in lines:
            cells.fault(f"id {quoted(cells.raw('id'))} is already used on line {lines[key]}", column="id")
        elif site is not None:
            sites.append(site)
        lines.setdefault(key, row.line)
    file, broken = (table.file, table.broken) if table else (FILE, True)
    if not lines and not broken:
        faults.add(file, 0, "has no site", "write one row for each out-apiary")
    for site, other, metres in same_spots(sites):
        what = f"site {quoted(site.id)} is {metres:.0f} m from site {quoted(other.id)} (line {other.line})"
        faults.warn(file, site.line, what, "are they one site?", table.place(site.line) if table else "")
    by_word = {site.id.casefold(): site for site in sites}
    ids = {word: site.id for word, site in by_word.items()}
    names = Names(ids, str.casefold, frozenset(lines) - ids.keys(), complete=bool(lines) and not broken)
    return Sites(tuple(sites), names, by_word, file)


def site_of(cells: Cells, base: Place | None, reaches: Names, ways: Ways) -> Site | None:
    """Return the site of a row, or None with faults noted; what is unlikely about it is noted too."""
    site_id = cells.required("id", identity)
    if site_id.casefold() == BASE:
        cells.fault(f"no site may have the id {quoted(site_id)}: it means the place where the day starts", column="id")
    place, parking = place_of(cells), parking_of(cells)
    if not cells.raw("hives"):
        cells.fault("hives is missing", "write 0 where there is none", "hives")
    hives = cells.take("hives", whole(0, MOST_HIVES, ways), 0)
    closed = cells.take("closed", days_by(ways), DaysOff())
    needed = cells.take("vehicle_needed", text_up_to(LONGEST_NAME), "")
    always: tuple[Hours, ...] = ()
    note = text_up_to(LONGEST_NOTE, many_lines=True)
    site = {
        "name": cells.take("name", text_up_to(LONGEST_NAME), "") or site_id,
        "parking": parking,
        "hives": hives,
        "nucs": cells.take("nucs", whole(0, MOST_HIVES, ways), 0),
        "hours": cells.take("hours", hours, always),
        "closed_weekdays": closed.weekdays,
        "closed_dates": closed.dates,
        "vehicle_needed": reaches.find(needed) or needed,
        "walking_minutes": cells.take("walking_minutes", number(0, 240, ways), 0.0),
        "last_of_day": cells.take("last_of_day", yes_or_no, default=False),
        "notes": cells.take("notes", note, ""),
        "gate_code": cells.secret("gate_code", text_up_to(LONGEST_NAME)),
        "phone": cells.secret("phone", text_up_to(LONGEST_NAME)),
        "private_notes": cells.secret("private_notes", note),
    }
    if place is not None:
        _doubts(cells, site_id, place, parking, base)
    _doubt_need(cells, site_id, needed, reaches)
    if place is None or not cells.ok:
        return None
    return Site.model_validate({"id": site_id, "place": place, "line": cells.row.line, **site})


def _doubts(cells: Cells, site_id: str, place: Place, parking: Place | None, base: Place | None) -> None:
    """Note a warning for what is unlikely about where a site is, whatever else its row says."""
    what, look_at = doubt(place, base)
    column = "place" if cells.raw("place") else "latitude"
    if what:
        cells.warn(f"site {quoted(site_id)} {what}", look_at, column)
    if parking is not None and (away := kilometres(place, parking)) > LONG_WALK_KM:
        what = f"parking of site {quoted(site_id)} is {away:.1f} km from its hives"
        cells.warn(what, "check both places", "parking")


def _doubt_need(cells: Cells, site_id: str, needed: str, reaches: Names) -> None:
    if needed and site_id and reaches.unknown(needed):
        what = f"vehicle_needed {quoted(needed)} is in the reaches of no vehicle"
        cells.warn(what, reaches.hint(needed), "vehicle_needed")
