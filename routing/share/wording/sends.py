"""What a round is given away as, and what is in it: said before any of it is made."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from routing.plain_words import count
from routing.round import Round
from routing.share.pages.file_names import is_crew_page, is_locked_page
from routing.share.safety.safe import plain_name
from routing.share.wording.words import short_date


@dataclass(frozen=True)
class SendKind:
    """One sort of file."""

    ending: str
    name: str
    holds: str


KINDS = {
    "gpx": SendKind(
        "gpx", "Places and ways for a navigation device (GPX)", "base and stops, a way for each crew and day"
    ),
    "ical": SendKind("ics", "Calendar", "an event for each visit with its place and times"),
    "csv": SendKind("csv", "Table for a spreadsheet (CSV)", "every stop with its times, work and loads"),
    "xlsx": SendKind("xlsx", "Workbook (XLSX)", "the answer, a sheet for each crew and day, what is left out"),
    "geojson": SendKind("geojson", "Map for other programs (GeoJSON)", "base, stops, ways, what is left out and why"),
}
CREW = "A crew's page for the phone"
WRITTEN = {
    "round.html": "The round for paper",
    "map.html": "The map of the round",
    "round.md": "The round as plain text",
}
LOCKED = "Pages for the phone that open only with the passphrase: each crew's day with its map and lists"
PAGES = "Pages for the phone, written anew in the round's folder: each crew's day with its map and lists"
PLACES = "Where sites lie can be read from these files: give them to people who may know."
NO_PRIVATE = "No gate code, phone number or private note is in any of them."
NICKNAMES = "Sites are called Site A, Site B and so on; where a file holds places, these stay as they are."
NO_PAGE = "nothing is planned, so no page."
FORGOTTEN = "A passphrase that is forgotten cannot be recovered by anyone."


def file_words(name: str, crews: Mapping[str, str]) -> str:
    """Return what a file that stands ready is for; `crews` are their names by those of their pages."""
    if is_crew_page(name):
        return f"{CREW}: {crews[name]}" if name in crews else CREW
    if is_locked_page(name):
        return f"{CREW}, under the passphrase"
    made = {f".{kind.ending}": kind.name for kind in KINDS.values()}
    return WRITTEN.get(name) or next((words for ending, words in made.items() if name.endswith(ending)), "")


def days_lines(round_: Round, *, files: bool, pages: bool) -> list[str]:
    """Return what of a round of several days is of which day, nothing of one of a single day.

    A file is of all days, where `files` are made; a page is of one crew's day, where `pages` are.
    """
    if len(round_.dates) == 1:
        return []
    first, last = short_date(round_.dates[0]), short_date(round_.dates[-1])
    lines = [f"All {len(round_.dates)} days, {first} to {last}, are in one file of a kind."] if files else []
    for date in round_.dates if pages else ():
        crews = ", ".join(plain_name(day.crew_name) for day in round_.itineraries if day.date == date)
        lines.append(f"{short_date(date)}: a page for {crews}." if crews else f"{short_date(date)}: {NO_PAGE}")
    return lines


def private_words(sites: int) -> str:
    """Return what private things of how many sites of the round are in the files."""
    if not sites:
        return "No site of this round has a gate code, phone number or private note, so none is in them."
    return f"Gate codes, phone numbers and private notes of {count(sites, 'site')} are in them."
