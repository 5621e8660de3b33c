"""Reading a file of a farm folder as text, whatever program saved it."""

from __future__ import annotations

from pathlib import Path

from routing.farm.faults import Faults
from routing.farm.on_disk import is_link
from routing.farm.plain_files import NOTHING, Instead, read_plain

MOST_BYTES = 5_000_000
"""A larger file is not a farm's: ten thousand sites with notes stay below it."""

WIDE_MARKS = (b"\xff\xfe", b"\xfe\xff", b"\x00\x00\xfe\xff")
"""Byte order marks of UTF-16 and UTF-32."""

SAVE_AS = "save it again as UTF-8 (in a spreadsheet: CSV UTF-8)"


def read_text(path: Path, faults: Faults, missing: str = "", instead: Instead = NOTHING) -> str | None:
    """Return the text of a file, or None where it cannot be read, which is then noted as a fault.

    UTF-8 with or without a byte order mark is read as it is, Windows-1252 with a warning. `missing` says what to do
    where there is no such file.
    """
    try:
        content = read_plain(path, MOST_BYTES, instead)
    except FileNotFoundError:
        link = is_link(path)
        faults.add(path.name, 0, "is a link that leads to no file" if link else "there is no such file", missing)
        return None
    except OSError as error:
        faults.add(path.name, 0, f"cannot be read: {error.strerror or type(error).__name__}")
        return None
    if len(content) > MOST_BYTES:
        faults.add(path.name, 0, f"is larger than {MOST_BYTES // 1_000_000} million bytes", "is it the right file?")
        return None
    return decoded(content, path.name, faults)


def decoded(content: bytes, file: str, faults: Faults) -> str | None:
    """Return the bytes as text, or None with a fault where they are not text."""
    if content.startswith(WIDE_MARKS):
        faults.add(file, 0, "is saved as UTF-16", SAVE_AS)
        return None
    if b"\x00" in content:
        line = content[: content.index(b"\x00")].count(b"\n") + 1
        faults.add(file, line, "holds a NUL byte, so it is not a plain text file", SAVE_AS)
        return None
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
    try:
        text = content.decode("cp1252")
    except UnicodeDecodeError:
        faults.add(file, line, "holds bytes that are neither UTF-8 nor Windows-1252 text", SAVE_AS)
        return None
    faults.warn(file, line, "is not UTF-8; it was read as Windows-1252, so check names with accents", SAVE_AS)
    return text
