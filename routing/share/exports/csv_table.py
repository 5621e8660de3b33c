"""The round as a table for a spreadsheet: a row for each stop, each way home and each visit left out."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from zoneinfo import ZoneInfo

from routing.farm.formulas import STARTS_A_FORMULA
from routing.farm.ways import ways_of
from routing.round import Itinerary, Round, Stop
from routing.share.safety.positions import degrees
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording import words
from routing.share.wording.sheet import Sheet, round_sheet
from routing.share.wording.visits import NO_LINES, PrivateLines, Visit, round_visits

HEADER = (
    *("Date", "Crew", "Vehicle", "What", "Stop", "Site", "Hives latitude", "Hives longitude"),
    *("Van stops on", "Van latitude", "Van longitude", "Drive minutes", "Drive km"),
    *("Arrive", "Start", "Finish", "Light left minutes", "Load kg on leaving", "Hives", "Jobs", "Notes"),
)

_AFTER_A_SEPARATOR = re.compile(rf"(;\s*)(?=[{re.escape(''.join(STARTS_A_FORMULA))}])")

MINUTE = "%Y-%m-%d %H:%M"

Cell = str | float | int


def round_csv(round_: Round, private: PrivateLines = NO_LINES) -> str:
    """Return the table with a byte order mark and CRLF line ends; times are local, in whole minutes.

    In a country that writes decimal commas numbers have them, and semicolons stand between the cells, as spreadsheets
    there write and read tables; dates and times are the same everywhere, as ISO 8601 has them.

    No text from the farm can start a formula: such a cell begins with an apostrophe, which a spreadsheet shows as text.
    Source: RFC 4180 (CRLF, quotes doubled); OWASP, CSV Injection (the leading signs, and separators of other locales).
    """
    sheet = round_sheet(round_)
    visits = round_visits(round_, private)
    rows: list[dict[str, Cell]] = []
    for itinerary in round_.itineraries:
        rows.append(_base(round_, itinerary))
        rows += (_stop(round_, visit) for visit in visits if visit.itinerary is itinerary)
        rows.append(_home(round_, itinerary))
    rows += _left_out(round_, sheet)
    text = io.StringIO(newline="")
    if ways_of(round_.time_zone).decimal == ",":
        writer = csv.writer(text, delimiter=";", lineterminator="\r\n")
        shown = _with_comma
    else:
        writer = csv.writer(text, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
        shown = _guarded
    writer.writerow(HEADER)
    writer.writerows([shown(row.get(column, "")) for column in HEADER] for row in rows)
    return "\ufeff" + text.getvalue()


def _guarded(cell: Cell) -> Cell:
    """Return a number as it is, and a text with an apostrophe before whatever a spreadsheet might calculate."""
    if not isinstance(cell, str):
        return cell
    text = _AFTER_A_SEPARATOR.sub(r"\1'", cell)
    return f"'{text}" if text.lstrip().startswith(STARTS_A_FORMULA) else text


def _with_comma(cell: Cell) -> Cell:
    """Return a number with a decimal comma, and a text guarded."""
    return _guarded(cell) if isinstance(cell, str | int) else str(cell).replace(".", ",")


def _stop(round_: Round, visit: Visit) -> dict[str, Cell]:
    stop = visit.stop
    zone = ZoneInfo(round_.time_zone)

    def minute(moment: dt.datetime) -> str:
        return f"{words.minute_at_stop(moment, stop.window_closes).astimezone(zone):{MINUTE}}"

    return {
        **_crew(visit.itinerary),
        "What": "stop" if stop.load_again is None else "base",
        "Stop": visit.sheet.mark,
        "Site": visit.sheet.name,
        **(_van(stop.latitude, stop.longitude) if stop.load_again is not None else _places(stop)),
        "Drive minutes": round(stop.drive.seconds / 60, 1),
        "Drive km": round(stop.drive.metres / 1000, 1),
        "Arrive": minute(stop.arrive),
        "Start": minute(stop.start),
        "Finish": minute(stop.finish),
        "Light left minutes": words.light_left_minutes(stop.finish, stop.window_closes)
        if stop.load_again is None
        else "",
        "Load kg on leaving": stop.load_kg,
        "Hives": max((work.hives for work in (*stop.jobs, *((stop.set_down,) if stop.set_down else ()))), default=""),
        "Jobs": "; ".join(visit.sheet.jobs),
        "Notes": " ".join((*visit.sheet.details, *visit.private)),
    }


def _places(stop: Stop) -> dict[str, Cell]:
    """Return where the hives are, and where the vehicle stops; this is empty where it is not known."""
    hives: dict[str, Cell] = {"Hives latitude": degrees(stop.latitude), "Hives longitude": degrees(stop.longitude)}
    told = stop.stopping_place
    return hives if told is None else {**hives, **_van(told.latitude, told.longitude, told.road)}


def _van(latitude: float, longitude: float, road: str = "") -> dict[str, Cell]:
    on = plain_name(road) if road else ""
    return {"Van stops on": on, "Van latitude": degrees(latitude), "Van longitude": degrees(longitude)}


def _base(round_: Round, itinerary: Itinerary) -> dict[str, Cell]:
    """Return the row of loading and leaving, from base or in the rest of a day from where the crew stands."""
    zone = ZoneInfo(round_.time_zone)
    here = round_.start
    start = _at_base(round_) if here is None else {"Site": plain_name(here.name), **_van(here.latitude, here.longitude)}
    return {
        **_crew(itinerary),
        **start,
        "What": "base" if here is None else "start",
        "Start": f"{words.minute_by(itinerary.load_from).astimezone(zone):{MINUTE}}",
        "Finish": f"{words.minute_by(itinerary.leave).astimezone(zone):{MINUTE}}",
    }


def _home(round_: Round, itinerary: Itinerary) -> dict[str, Cell]:
    zone = ZoneInfo(round_.time_zone)
    return {
        **_crew(itinerary),
        **_at_base(round_),
        "What": "home",
        "Drive minutes": round(itinerary.drive_home.seconds / 60, 1),
        "Drive km": round(itinerary.drive_home.metres / 1000, 1),
        "Arrive": f"{words.minute_reached(itinerary.home).astimezone(zone):{MINUTE}}",
    }


def _at_base(round_: Round) -> dict[str, Cell]:
    return {"Site": plain_name(round_.base_name), **_van(round_.base_latitude, round_.base_longitude)}


def _crew(itinerary: Itinerary) -> dict[str, Cell]:
    return {
        "Date": itinerary.date.isoformat(),
        "Crew": plain_name(itinerary.crew_name),
        "Vehicle": plain_name(itinerary.vehicle_name),
    }


def _left_out(round_: Round, sheet: Sheet) -> list[dict[str, Cell]]:
    return [
        {
            "Date": ", ".join(date.isoformat() for date in round_.dates),
            "What": "left out",
            "Site": shown.name,
            "Hives latitude": degrees(left.latitude),
            "Hives longitude": degrees(left.longitude),
            "Hives": max(job.hives for job in left.jobs),
            "Jobs": "; ".join(shown.jobs),
            "Notes": f"{shown.reason}: {plain_text(left.text)}",
        }
        for left, shown in zip(round_.left_out, sheet.left_out, strict=True)
    ]
