"""Places out of a file of another program: a table (CSV, XLSX or ODS), GPX waypoints or GeoJSON points.

Source: GPX 1.1 (wpt, name, desc, cmt); RFC 7946 (GeoJSON: longitude first); RFC 5870 (geo: addresses).
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import gpxpy
from gpxpy.gpx import GPXException

from routing.farm import sites
from routing.farm.column_words import ELSEWHERE
from routing.farm.faults import Faults, quoted
from routing.farm.sources import BOOK_ENDINGS
from routing.farm.tables import Columns, Row, Table
from routing.farm.texts import read_text
from routing.farm.workbooks import open_book

MOST_DEGREES = 180
COLUMNS = Columns(known=sites.COLUMNS.known, also=ELSEWHERE, fewest=2, alone=frozenset({"place"}))
MOST_PLACES = 5_000
_GEO = re.compile(r"geo:(-?[0-9.]+),(-?[0-9.]+)[^ ]*", re.IGNORECASE)


@dataclass(frozen=True)
class Found:
    """The places of a file: rows with the columns of sites.csv, whichever the file has."""

    file: str
    rows: tuple[Row, ...]


def read_places(path: Path, faults: Faults) -> Found:
    """Return the places of a file; what cannot be read is noted."""
    ending = path.suffix.lower()
    if ending == ".gpx":
        rows = _waypoints(path, faults)
    elif ending in {".geojson", ".json"}:
        rows = _points(path, faults)
    elif ending in {".csv", ".tsv", ".txt", *BOOK_ENDINGS}:
        rows = _table(path, faults)
    else:
        what = f"has the ending {quoted(path.suffix)}, which is none that is read"
        faults.add(path.name, 0, what, "save it as .csv, .xlsx, .ods, .gpx or .geojson")
        return Found(path.name, ())
    before = faults.stopping
    found = tuple(row for row, _ in zip(rows, range(MOST_PLACES + 1), strict=False))
    if len(found) > MOST_PLACES:
        faults.add(path.name, 0, f"holds more than {MOST_PLACES:,} places", "is it the right file?")
    if not found and faults.stopping == before:
        faults.add(path.name, 0, "holds no place", "waypoints, points or rows with a place are taken")
    return Found(path.name, found)


def _table(path: Path, faults: Faults) -> Iterator[Row]:
    if path.suffix.lower() in BOOK_ENDINGS:
        book = open_book(path, faults)
        wanted = "sites" if "sites" in book.titles else next(iter(book.titles), "")
        sheet = book.sheet(wanted) if wanted else None
        if sheet is None:
            return
        yield from _rows(Table(sheet, COLUMNS, faults))
        return
    yield from _rows(Table(path, COLUMNS, faults, "name a file of places"))


def _rows(table: Table) -> Iterator[Row]:
    for row in table:
        cells = dict(row.cells)
        if not any(cells.values()):
            continue
        if (geo := _GEO.fullmatch(cells.get("place", ""))) is not None:
            cells["place"] = f"{geo[1]}, {geo[2]}"
        elif cells.get("place") and cells.get("latitude") and cells.get("longitude"):
            del cells["place"]  # an address or a link beside the position itself
        yield Row(row.file, row.line, cells, row.letters)


def _waypoints(path: Path, faults: Faults) -> Iterator[Row]:
    text = read_text(path, faults, "name a file of places")
    if text is None:
        return
    if "<!DOCTYPE" in text or "<!ENTITY" in text:
        faults.add(path.name, 0, "declares a document type, which no GPX file does", "save it again as GPX 1.1")
        return
    try:
        points = gpxpy.parse(text).waypoints
    except (GPXException, ValueError, LookupError, TypeError, AttributeError, SyntaxError) as error:
        faults.add(path.name, 0, f"is not GPX: {quoted(str(error))[1:-1]}", "save it again as GPX 1.1")
        return
    for number, point in enumerate(points, start=1):
        notes = point.description or point.comment or ""
        yield _row(path.name, number, point.name or "", point.latitude, point.longitude, {"notes": notes})


def _points(path: Path, faults: Faults) -> Iterator[Row]:
    text = read_text(path, faults, "name a file of places")
    if text is None:
        return
    try:
        top = json.loads(text)
    except (ValueError, RecursionError) as error:
        faults.add(path.name, 0, f"is not GeoJSON: {quoted(str(error))[1:-1]}", "save it again as GeoJSON")
        return
    features = top.get("features") if isinstance(top, dict) else None
    for number, feature in enumerate(features if isinstance(features, list) else [top], start=1):
        row = _feature(path.name, number, feature)
        if row is None:
            faults.warn(path.name, 0, f"feature {number} is no point and was not read")
        else:
            yield row


def _feature(file: str, number: int, feature: object) -> Row | None:
    """Return the row of a feature, or of a bare geometry; None where it is no point."""
    if not isinstance(feature, dict):
        return None
    geometry = feature.get("geometry") if feature.get("type") == "Feature" else feature
    if not isinstance(geometry, dict) or geometry.get("type") != "Point":
        return None
    pair = geometry.get("coordinates")
    if not isinstance(pair, list) or len(pair) < len("xy") or not all(_is_number(part) for part in pair[:2]):
        return None
    told = feature.get("properties")
    said: dict[str, str] = {}
    for key, value in (told if isinstance(told, dict) else {}).items():
        column = COLUMNS.named(key)
        if column and column not in said and isinstance(value, str | int | float) and not isinstance(value, bool):
            said[column] = str(value).strip()
    return _row(file, number, said.pop("name", ""), pair[1], pair[0], said)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= MOST_DEGREES


def _row(file: str, number: int, name: str, latitude: float, longitude: float, more: dict[str, str]) -> Row:
    """Return a row; its line is the number of the place in the file, since such files have no rows."""
    more = {column: text for column, text in more.items() if column not in {"place", "latitude", "longitude"}}
    return Row(file, number, {**more, "name": name.strip(), "place": f"{_short(latitude)}, {_short(longitude)}"})


def _short(degrees: float) -> str:
    """Return degrees to a centimetre, without noughts at the end."""
    return f"{degrees:.7f}".rstrip("0").rstrip(".")
