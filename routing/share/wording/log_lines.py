"""What stands in the log, a line each: the same on the terminal and at the desk."""

from __future__ import annotations

import datetime as dt

from routing.plain_words import count, day_words
from routing.season.csv_files import seen_words
from routing.season.entries import Cancellation, Entry
from routing.share.safety.safe import plain_name, plain_text


def entry_line(entry: Entry | Cancellation) -> str:
    """Return an entry or a cancellation in one line of plain words."""
    if isinstance(entry, Cancellation):
        return f"{entry.date} {plain_name(entry.site)}: {plain_name(entry.rule)} due {entry.due} cancelled: " + (
            plain_text(entry.why)
        )
    parts = [
        f"{entry.minutes:g} min" if entry.minutes is not None else "",
        count(entry.people, "person").replace("persons", "people") if entry.people else "",
        count(entry.hives, "hive") if entry.hives is not None else "",
        "not finished" if entry.partly else "",
        f"stores {entry.stores_kg:g} kg" if entry.stores_kg is not None else "",
        f"queen cells {entry.queen_cells}" if entry.queen_cells is not None else "",
        *(f"{amount:g} {plain_name(material)}" for material, amount in entry.materials.items()),
        ("seen: " + seen_words(entry).replace(" ", ", ")) if entry.seen else "",
        f"{plain_name(entry.medicine.product)}, batch {plain_name(entry.medicine.batch)}" if entry.medicine else "",
        plain_text(entry.note),
    ]
    time = f" {entry.time:%H:%M}" if entry.time else ""
    told = "; ".join(part for part in parts if part)
    return f"{entry.date}{time} {plain_name(entry.site)}: {plain_name(entry.kind)}" + (f" ({told})" if told else "")


def counts_from_words(begins: dt.date) -> str:
    """Return what is said of the day from which a log counts."""
    return (
        f"The log counts from {day_words(begins)}: what was due since then and is not in it is not done; whether what "
        "was due before was done is not known."
    )
