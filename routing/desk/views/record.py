"""Writing down what was done, by hand or from a helper's report, which says what it will write before it does."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import TYPE_CHECKING

from starlette.responses import Response

from routing import stages
from routing.desk.given import Given
from routing.desk.serving import changed, page, shown
from routing.desk.state import Desk, today
from routing.errors import AskedError
from routing.farm.unfit import UnfitError
from routing.farm.values import LONGEST_NOTE
from routing.farm.written_forms import time_written
from routing.farm.year_words import EVENTS, SEEN
from routing.plain_words import count
from routing.season.log_file import has_log
from routing.share.report.done_words import done_in_words
from routing.share.safety.safe import plain_text
from routing.share.wording.log_lines import counts_from_words, entry_line

if TYPE_CHECKING:
    from routing.farm.models import Farm
    from routing.stages.reports import Reported

HERE = "/record"
MOST_SHOWN = 40
MOST_UNITS = 1_000_000
LONGEST_REPORT = 1_000_000
MEDICINE = ("product", "batch", "dose", "amount", "colonies", "given_by", "supplier", "disposal")
MEDICINE_DAYS = {"withdrawal_days": (0, 3650), "days_in": (1, 365)}
MEDICINE_DATES = ("bought_on", "disposed_on")


def record(desk: Desk, given: Given) -> Response:
    """Show what was written down last, and the form for more."""
    farm = desk.farm()
    kept = stages.record.record_of(farm)
    kinds = sorted(farm.job_kinds.values(), key=lambda kind: kind.name.casefold())
    values = {
        "on": (given.date("on") or today(farm)).isoformat(),
        "site": given.text("site"),
        "kind": given.text("kind"),
        "sites": farm.sites,
        "kinds": [*((kind.id, kind.name) for kind in kinds), *((event, event) for event in EVENTS)],
        "crews": [crew.id for crew in farm.crews],
        "materials": sorted(farm.materials.values(), key=lambda material: material.name.casefold()),
        "seen": [(word, word.replace("-", " ")) for word in SEEN],
        "has_log": has_log(farm.folder),
        "lines": [entry_line(entry) for entry in reversed(kept.entries[-MOST_SHOWN:])],
        "more": max(0, len(kept.entries) - MOST_SHOWN),
        "longest": LONGEST_NOTE,
    }
    return page(desk, "record.html", values, title="Record", here=HERE)


def look(desk: Desk, given: Given) -> Mapping[str, object]:
    """Say what would be written, and write nothing."""
    entries = stages.record.new_entries(desk.farm(), given.text("site"), _entered(desk.farm(), given))
    return {"will": [entry_line(entry) for entry in entries]}


def add(desk: Desk, given: Given) -> Mapping[str, object]:
    """Write down what was done."""
    farm = desk.farm()
    entries = stages.record.new_entries(farm, given.text("site"), _entered(farm, given))
    begins = None if has_log(farm.folder) or not entries else given.date("counts_from") or entries[0].date
    cautions = stages.record.write_down(farm, entries, begins)
    told = [f"Written: {entry_line(entry)}" for entry in entries]
    return {"lines": [*told, *cautions, *([counts_from_words(begins)] if begins else [])], "go": HERE}


def _entered(farm: Farm, given: Given) -> dict[str, object]:
    """Return the values of an entry as the form has them. Raises AskedError."""
    used = {material: given.number(f"used.{material}", 0, MOST_UNITS) for material in farm.materials}
    seen = tuple(word for word in SEEN if given.flag(f"seen.{word}"))
    counted = {word: given.whole(f"count.{word}", 1, 5000) for word in seen}
    return {
        "kind": given.text("kind"),
        "date": given.date("on") or today(farm),
        "time": _clock(given.text("time")),
        "minutes": given.number("minutes", 0, 2880),
        "crew": given.text("crew"),
        "people": given.whole("people", 1, 20),
        "hives": given.whole("hives", 0, 5000),
        "partly": given.flag("partly"),
        "materials": {material: amount for material, amount in used.items() if amount},
        "seen": seen,
        "seen_in": {word: hives for word, hives in counted.items() if hives is not None},
        "stores_kg": given.number("stores_kg", 0, 100),
        "queen_cells": given.whole("queen_cells", 0, 10_000),
        "note": given.text("note", LONGEST_NOTE),
        "medicine": _medicine(given),
    }


def _medicine(given: Given) -> dict[str, object] | None:
    """Return what is said of a medicine, None where nothing is. Raises AskedError."""
    found: dict[str, object] = {name: given.text(name, 200) for name in MEDICINE}
    found |= {name: given.whole(name, *limits) for name, limits in MEDICINE_DAYS.items()}
    found |= {name: given.date(name) for name in MEDICINE_DATES}
    return found if any(value not in {"", None} for value in found.values()) else None


def _clock(text: str) -> dt.time | None:
    try:
        return time_written(text) if text else None
    except UnfitError as error:
        raise AskedError("time: this is not a time of day; write HH:MM, 00:00 to 23:59") from error


def undo(desk: Desk, _given: Given) -> Mapping[str, object]:
    """Undo what was written last, all of it."""
    return {"lines": [f"Undone: {entry_line(gone)}" for gone in stages.record.undo(desk.farm())], "go": HERE}


def begin(desk: Desk, given: Given) -> Mapping[str, object]:
    """Say from when the log is complete."""
    begins = given.date("counts_from")
    if begins is None:
        raise AskedError("say from when the log is complete: give a date")
    stages.record.begin(desk.farm(), begins)
    return {"lines": [counts_from_words(begins)], "go": HERE}


def look_at_report(desk: Desk, given: Given) -> Mapping[str, object]:
    """Say what a helper's report tells and what would be written of it; write nothing."""
    farm = desk.farm()
    found = _reported(farm, given)
    words = done_in_words(found.report, found.farm)
    sites = [f"{name}: {line}" for name, lines in words.sites for line in lines]
    will = [entry_line(entry) for entry in stages.reports.would_log(farm, found.report)]
    notes = [f"Note: {plain_text(str(warning), 500)}" for warning in found.warnings]
    stays = stages.reports.closes_nothing(farm, found.report)
    return {"title": words.title, "told": [words.counted, *sites, *words.after, *notes, *stays], "will": will}


def keep_report(desk: Desk, given: Given) -> Mapping[str, object]:
    """Write into the log what a helper's report says is done."""
    farm = desk.farm()
    report = _reported(farm, given).report
    stages.reports.would_log(farm, report)  # refuses what cannot be logged yet
    new = stages.reports.log_report(farm, report)
    told = f"Written to the log: {count(new, 'new entry').replace('entrys', 'entries')}."
    return {"lines": [told, *stages.reports.closes_nothing(farm, report)], "go": HERE}


def _reported(farm: Farm, given: Given) -> Reported:
    text = given.text("report", LONGEST_REPORT)
    if not text:
        raise AskedError("paste the report that the helper sent back, or drop its file here")
    return stages.reports.read_report_text(farm, text, "the report")


ROUTES = [
    shown(HERE, record),
    changed(f"{HERE}/look", look),
    changed(f"{HERE}/add", add),
    changed(f"{HERE}/undo", undo),
    changed(f"{HERE}/begin", begin),
    changed(f"{HERE}/report/look", look_at_report),
    changed(f"{HERE}/report/keep", keep_report),
]
