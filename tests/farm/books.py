"""Workbooks for tests, by three writers that know nothing of each other, and farms as the rows of their tables."""

from __future__ import annotations

import datetime as dt
import shutil
import subprocess
import tempfile
import zipfile
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import odfdo
import openpyxl
import pytest
import xlsxwriter

from routing.farm.models import Farm, Hours, Place
from routing.farm.tables_out import Cell, FarmRows
from tests.random_farms import random_farm

Sheets = Mapping[str, Sequence[Sequence[object]]]
OFFICE = shutil.which("soffice") or ""


def by_openpyxl(path: Path, sheets: Sheets) -> None:
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(list(row))
    book.save(path)


def by_xlsxwriter(path: Path, sheets: Sheets) -> None:
    book = xlsxwriter.Workbook(path, {"default_date_format": "dd/mm/yyyy"})
    for title, rows in sheets.items():
        sheet = book.add_worksheet(title)
        for number, row in enumerate(rows):
            for at, cell in enumerate(row):
                if cell is not None:
                    sheet.write(number, at, cell)
    book.close()


def by_office(path: Path, sheets: Sheets) -> None:
    """Write by openpyxl, then let the office program open it and save it its own way."""
    first = path.parent / "by-office"
    first.mkdir()
    by_openpyxl(first / f"{path.stem}.xlsx", sheets)
    filter_ = "xlsx:Calc MS Excel 2007 XML" if path.suffix == ".xlsx" else "ods"
    converted(path.parent, filter_, first / f"{path.stem}.xlsx")
    shutil.rmtree(first)


def converted(into: Path, filter_: str, *paths: Path) -> None:
    """Let the office program write workbooks in another form."""
    with tempfile.TemporaryDirectory() as profile:
        own = f"-env:UserInstallation={Path(profile).as_uri()}"
        told = [OFFICE, own, "--headless", "--convert-to", filter_, "--outdir", str(into), *map(str, paths)]
        subprocess.run(told, check=True, capture_output=True, timeout=240)


def by_odfdo(path: Path, sheets: Sheets) -> None:
    document = odfdo.Document("spreadsheet")
    document.body.clear()
    for title, rows in sheets.items():
        table = odfdo.Table(title)
        for row in rows:
            written = odfdo.Row()
            written.set_values(list(row))  # type: ignore[arg-type]  # the kinds of value that cells hold
            table.append_row(written)
        document.body.append(table)
    document.save(path)


WRITERS: dict[str, Callable[[Path, Sheets], None]] = {"openpyxl": by_openpyxl, "xlsxwriter": by_xlsxwriter}
NO_OFFICE = pytest.mark.skipif(not OFFICE, reason="no office program (soffice) is installed")


def with_part(path: Path, name: str, content: bytes | None) -> None:
    """Put other bytes into one part of a workbook, or take the part out."""
    with zipfile.ZipFile(path) as before:
        parts = {info.filename: before.read(info) for info in before.infolist()}
    parts.pop(name, None)
    if content is not None:
        parts[name] = content
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as after:
        for part, held in parts.items():
            after.writestr(part, held)


def part_of(path: Path, name: str) -> bytes:
    with zipfile.ZipFile(path) as parts:
        return parts.read(name)


def whole_farm(seed: int) -> Farm:
    """Return a random farm whose tables hold what can be written down: short decimals, dates in order, no clashes."""
    farm, _ = random_farm(seed)
    sites = tuple(site.model_copy(update={"place": _short(site.place)}) for site in farm.sites)
    jobs = {job.site: job for job in farm.jobs if not (job.not_before and job.due_by) or job.not_before <= job.due_by}
    drives = tuple(drive.model_copy(update={"minutes": round(drive.minutes, 3)}) for drive in farm.known_drives)
    return farm.model_copy(update={"sites": sites, "jobs": tuple(jobs.values()), "known_drives": drives})


def _short(place: Place) -> Place:
    return Place(latitude=round(place.latitude, 7), longitude=round(place.longitude, 7))


def rows_of(farm: Farm) -> FarmRows:
    """Return the tables of a farm as their columns are written."""
    sites = [
        {
            "id": site.id,
            "name": site.name,
            "hives": site.hives,
            "nucs": site.nucs,
            "notes": site.notes,
            "latitude": site.place.latitude,
            "longitude": site.place.longitude,
            "hours": " ".join(_span(span) for span in site.hours),
            "closed": " ".join(
                [*(("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")[day] for day in site.closed_weekdays)]
                + [day.isoformat() for day in site.closed_dates]
            ),
            "vehicle_needed": site.vehicle_needed,
            "walking_minutes": site.walking_minutes,
            "last_of_day": "yes" if site.last_of_day else "no",
        }
        for site in farm.sites
    ]
    jobs = [
        {
            "site": job.site,
            "kind": job.kind,
            "hives": job.hives,
            "to": job.to,
            "rank": job.rank.value,
            "note": job.note,
            "not_before": "" if job.promised else job.not_before or "",
            "due_by": "" if job.promised else job.due_by or "",
            "promised": job.promised or "",
        }
        for job in farm.jobs
    ]
    drives: list[dict[str, Cell]] = [
        {"from": drive.start, "to": drive.end, "minutes": drive.minutes} for drive in farm.known_drives
    ]
    return FarmRows(sites, jobs, drives)


def _span(span: Hours) -> str:
    return f"{span.opens:%H:%M}-{span.closes:%H:%M}"


def settings_of(farm: Farm) -> str:
    """Return a farm.toml of the farm's zone and place, and of the smallest else."""
    return f"""\
time_zone = "{farm.time_zone}"
[base]
latitude = {farm.base.place.latitude}
longitude = {farm.base.place.longitude}
[[vehicle]]
id = "van"
payload_kg = 500
space_litres = 2000
reaches = ["4x4"]
[[crew]]
id = "ash"
vehicle = "van"
earliest_start = "08:00"
home_by = "17:00"
"""


def tables_of(farm: Farm) -> tuple[object, ...]:
    """Return what the tables say, without where each row stood."""
    nowhere = {"line": 0}
    return (
        tuple(site.model_copy(update=nowhere) for site in farm.sites),
        tuple(job.model_copy(update={**nowhere, "id": ""}) for job in farm.jobs),
        tuple(drive.model_copy(update=nowhere) for drive in farm.known_drives),
    )


def a_day(day: int) -> dt.date:
    return dt.date(2026, 12, day)
