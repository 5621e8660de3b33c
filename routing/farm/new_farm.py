"""A new farm folder: the example, or one made of places that are already written down somewhere."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

from routing.errors import AskedError, FarmError, Fault, PlaceError
from routing.farm import jobs, sites
from routing.farm.faults import Faults, Names, one_of, plain, quoted
from routing.farm.formulas import guarded
from routing.farm.models import Place
from routing.farm.places import parse_place
from routing.farm.places_in import Found, read_places
from routing.farm.site_ids import id_made_of
from routing.farm.sources import FARM_BOOK
from routing.farm.starter import BOOK_NOTE, FARM_TOML, OTHER_FILES, STARTER, starter_book, write_new_farm
from routing.farm.tables import Cells, Row
from routing.farm.tables_out import NUMBERS, FarmRows, farm_workbook, typed
from routing.farm.values import LONGEST_NAME
from routing.farm.ways import Ways, ways_of
from routing.farm.zones import zone_at

Ask = Callable[[str], str]
MOST_TRIES = 5
"""So often one question is put before the program gives up."""
NO_NEEDS = Names({}, str.casefold, complete=False)
EXAMPLE = "# The vehicles, the crew and the stock below are examples: write your own in their place.\n"


def new_farm(
    folder: Path,
    *,
    xlsx: bool = False,
    places: Path | None = None,
    base: str = "",
    hives: int | None = None,
    ask: Ask | None = None,
) -> tuple[tuple[Path, ...], tuple[Fault, ...]]:
    """Write a new farm folder and return its files, with a warning for each place that is odd.

    `ask` puts a question where someone is there to answer it. Of a file of places only what it does not say is asked:
    where the base is, and how many hives at each site. Raises WriteError, FarmError with what is wrong in the file of
    places, and AskedError where something is missing and nobody is there.
    """
    if places is None:
        if base or hives is not None:
            raise AskedError("--base and --hives go with --from: without it the example farm is written")
        files = starter_book() if xlsx else {name: text.encode() for name, text in STARTER.items()}
        return write_new_farm(folder, files), ()
    faults = Faults()
    found = read_places(places, faults)
    if faults.stopping:
        raise FarmError(faults.in_order((found.file,)))
    yard, yard_name, rows = _base(found, base, ask)
    zone = zone_at(yard) or "UTC"
    ready = _ready(_with_hives(rows, hives, ask), yard, ways_of(zone), faults)
    if faults.stopping:
        raise FarmError(faults.in_order((found.file,)))
    called = folder.resolve().name.replace("-", " ").capitalize()
    settings = _settings(called, yard, yard_name, zone)
    written = write_new_farm(folder, _book(settings, ready) if xlsx else _tables(settings, ready))
    return written, faults.in_order((found.file,))


def _with_hives(rows: tuple[Row, ...], hives: int | None, ask: Ask | None) -> tuple[Row, ...]:
    """Return the rows with a number of hives each: that of the file, else `hives`, else what is answered for the site.

    Raises AskedError where nobody is there to answer.
    """
    missing = [row for row in rows if not row.cells.get("hives")]
    if hives is None and missing and ask is None:
        named = one_of(_called(row) for row in missing).removeprefix("one of ")
        raise AskedError(
            f"the file does not say how many hives are at {named}, and nobody is there to ask: say --hives 10 for all "
            "of them, or write a column hives"
        )
    told, all_the_rest = ("", False) if hives is None else (str(hives), True)
    filled = []
    for row in rows:
        if row.cells.get("hives"):
            filled.append(row)
            continue
        if not all_the_rest and ask is not None:
            told, all_the_rest = _asked_hives(ask, _called(row))
        filled.append(replace(row, cells={**row.cells, "hives": told}))
    return tuple(filled)


def _called(row: Row) -> str:
    return row.cells.get("name") or row.cells.get("id") or f"place {row.line}"


def _asked_hives(ask: Ask, site: str) -> tuple[str, bool]:
    """Return the number answered for a site, and whether it is meant for all sites that follow too."""
    question = f"Hives at {quoted(site)} (a number; 10 all: so many at every later one too)"
    for _ in range(MOST_TRIES):
        answer = ask(question).strip().casefold()
        number = answer.removesuffix("all").strip()
        if re.fullmatch(r"[0-9]{1,4}", number) and int(number) <= sites.MOST_HIVES:
            return number, answer.endswith("all")
        question = f"{quoted(answer)} is no number of hives (0 to {sites.MOST_HIVES}). Hives at {quoted(site)}"
    raise AskedError(f"no number of hives was given for {quoted(site)}: say --hives, or write a column hives")


def _base(found: Found, asked: str, ask: Ask | None) -> tuple[Place, str, tuple[Row, ...]]:
    """Return where the base is, what it is called and the other places: one of them by its name, or any place."""
    if asked:
        return _base_of(found, asked)
    if ask is None:
        raise AskedError(
            "the file does not say where the vehicle is loaded, and nobody is there to ask: "
            'say --base "52.1, -2.7", or the name of one of its places'
        )
    question = "Where is the vehicle loaded (a place, or the name of one in the file)"
    for _ in range(MOST_TRIES):
        try:
            return _base_of(found, ask(question).strip())
        except AskedError as error:
            question = f"{error}. Where is the vehicle loaded"
    raise AskedError('no base was given: say --base "52.1, -2.7"')


def _base_of(found: Found, asked: str) -> tuple[Place, str, tuple[Row, ...]]:
    named = [row for row in found.rows if plain(row.cells.get("name", "")) == plain(asked) and asked]
    try:
        if len(named) == 1:
            cells = named[0].cells
            text = cells.get("place") or f"{cells.get('latitude', '')}; {cells.get('longitude', '')}"
            return parse_place(text), named[0].cells["name"], tuple(row for row in found.rows if row is not named[0])
        return parse_place(asked), "The yard", found.rows
    except PlaceError as error:
        raise AskedError(f"the base: {error}, or the name of one place of {found.file}") from None


def _ready(rows: tuple[Row, ...], base: Place, ways: Ways, faults: Faults) -> list[dict[str, str]]:
    """Return the rows of sites.csv, judged by what judges that file, with an id each."""
    ready = []
    taken = {row.cells.get("id", "").casefold() for row in rows}
    for number, row in enumerate(rows, start=1):
        cells = {column: row.cells.get(column, "") for column in sites.COLUMNS.known}
        cells["name"] = cells["name"][:LONGEST_NAME]
        cells["id"] = cells["id"] or id_made_of(cells["name"], number, taken)
        sites.site_of(Cells(Row(row.file, row.line, cells, row.letters), faults), base, NO_NEEDS, ways)
        ready.append(cells)
    return ready


def empty_files(name: str, base: Place, base_name: str) -> Mapping[str, bytes]:
    """Return the files of a farm of a name that has no site yet; its vehicle, crew and stock are examples."""
    tables = _tables(_settings(name, base, base_name or "The yard", zone_at(base) or "UTC"), [])
    return {**tables, "sites.csv": b"id,name,place,hives,notes\n"}


def _settings(farm: str, base: Place, name: str, zone: str) -> str:
    """Return farm.toml with its own name, zone and base in place of the example's."""
    called = json.dumps(farm or "Farm", ensure_ascii=False)
    text = FARM_TOML.replace('name = "Example Farm"', f"name = {called}")
    text = text.replace('time_zone = "Europe/London"', f'time_zone = "{zone}"')
    text = text.replace('name = "The yard"', f"name = {json.dumps(name, ensure_ascii=False)}")
    text = text.replace('place = "SO 512 402"', f'place = "{base.latitude:.6f}, {base.longitude:.6f}"')
    return text.replace("[[vehicle]]", f"{EXAMPLE}[[vehicle]]", 1)


def _tables(settings: str, ready: list[dict[str, str]]) -> Mapping[str, bytes]:
    used = [
        column for column in sites.COLUMNS.known if any(row[column] for row in ready) or column in {"name", "notes"}
    ]
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(used)
    writer.writerows([_cell(column, row[column]) for column in used] for row in ready)
    header = ",".join(jobs.COLUMNS.known) + "\n"
    return {"farm.toml": settings.encode(), "sites.csv": text.getvalue().encode(), "jobs.csv": header.encode()}


def _cell(column: str, text: str) -> str:
    """Return a text that no spreadsheet calculates; what must be a place or a number is judged already."""
    return text if column in {*NUMBERS, "place", "parking"} else guarded(text)


def _book(settings: str, ready: list[dict[str, str]]) -> Mapping[str, bytes]:
    rows = [{column: typed(column, cell) for column, cell in row.items()} for row in ready]
    told = settings.partition(OTHER_FILES)[0] + BOOK_NOTE
    return {"farm.toml": told.encode(), FARM_BOOK: farm_workbook(FarmRows(sites=rows))}
