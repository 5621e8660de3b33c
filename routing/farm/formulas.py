"""Texts in CSV files that no spreadsheet may take for a formula, and back again.

An apostrophe goes before a sign that may begin one: where a cell begins, and within it after whatever separates cells
or rows in another locale. Source: OWASP, CSV Injection (the leading signs; separators of other locales).
"""

from __future__ import annotations

import re

STARTS_A_FORMULA = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20", "\ufe62", "\ufe63", "\ufe66", "\ufe6b")
"""The four signs, in full width and small as well: some spreadsheets read these alike."""

_SIGNS = re.escape("".join(STARTS_A_FORMULA))
_AT_THE_START = re.compile(rf"['\t\r]|\s*[{_SIGNS}]")
_INSIDE = re.compile(rf"([;\t\r\n]\s*)(?='*[{_SIGNS}])")
_GUARDED_INSIDE = re.compile(rf"([;\t\r\n]\s*)'(?='*[{_SIGNS}])")


def guarded(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula; `unguarded` gives the text again."""
    inside = _INSIDE.sub(r"\1'", text)
    return f"'{inside}" if _AT_THE_START.match(inside) else inside


def unguarded(text: str) -> str:
    """Return the text that was guarded; one that was not is returned as it is, unless it looks as if it had been."""
    whole = text[1:] if text.startswith("'") and _AT_THE_START.match(text, 1) else text
    return _GUARDED_INSIDE.sub(r"\1", whole)
