"""The names of the files of a written round."""

from __future__ import annotations

import re
import unicodedata

PLAIN = ("round.json", "round.md", "round.html", "map.html")
"""The files of every round, the saved round first."""

_CREW_PAGE = re.compile(r"\d{4}-\d{2}-\d{2}-.+\.html", re.DOTALL)
_LOCKED_PAGE = re.compile(r"locked-\d+\.html", re.ASCII)


def slug(text: str) -> str:
    """Return a text as part of a file name: at most 40 of a to z, 0 to 9 and single hyphens; `crew` for nothing."""
    plain = unicodedata.normalize("NFKD", text[:200]).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40].strip("-") or "crew"


def is_crew_page(name: str) -> bool:
    """Return whether a file name is that of a crew's page."""
    return bool(_CREW_PAGE.fullmatch(name))


def locked_page(number: int) -> str:
    """Return the file name of a locked page, which tells nothing; numbers begin with 1."""
    return f"locked-{number}.html"


def is_locked_page(name: str) -> bool:
    """Return whether a file name is that of a locked page."""
    return bool(_LOCKED_PAGE.fullmatch(name))


def is_open_page(name: str) -> bool:
    """Return whether a file name is that of a page of a round that opens without a passphrase."""
    return name in PLAIN[1:] or is_crew_page(name)
