"""farm.toml: the service that may be asked where a place is, by its name. Without `[find]` there is none."""

from __future__ import annotations

import re
from urllib.parse import urlsplit

from routing.farm.documents import Keys
from routing.farm.faults import quoted
from routing.farm.finder import Finder

EXAMPLE = 'url = "https://nominatim.openstreetmap.org"'
KNOWN_TERMS = {
    "nominatim.openstreetmap.org": "at most one question a second and none by machine; credit to OpenStreetMap "
    "contributors",
}
"""Source: OpenStreetMap Foundation, Nominatim usage policy (from memory)."""
SECONDS = 10.0
LONGEST_URL = 1000
_ADDRESS = re.compile(r"https?://[^\s/?#@]+(/[^\s?#]*)?")


def read_finder(keys: Keys) -> Finder | None:
    """Return the service that `[find]` names, None where there is none or with faults noted."""
    keys.only("url", "terms", "seconds")
    if not list(keys):
        return None
    url = keys.text("url", "", LONGEST_URL)
    if not _ADDRESS.fullmatch(url):
        keys.fault("url", f"url {quoted(url)} is not an address of the web", f"write {EXAMPLE}, or leave [find] out")
    terms = keys.text("terms", KNOWN_TERMS.get(urlsplit(url).netloc, "") if keys.ok else "", LONGEST_URL)
    if keys.ok and not terms:
        keys.fault("terms", "terms is missing: what the service asks of those who use it", 'write terms = "..."')
    seconds = keys.number("seconds", 1, 60, SECONDS)
    return Finder(url=url, terms=terms, seconds=seconds) if keys.ok else None
