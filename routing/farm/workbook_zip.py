"""What of a workbook may be opened at all: a plain zip of bounded size, no macros, no password.

Source: ECMA-376 part 2 (Open Packaging Conventions): a workbook is a zip of XML parts; MS-CFB: an encrypted one,
and one of before 2007, begins with the eight bytes below; OpenDocument 1.3 part 2: packages, their type, encryption.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from pathlib import Path

from routing.farm.plain_files import NOTHING, Instead, read_plain

MOST_BYTES = 20_000_000
"""A larger file is no farm's: ten thousand sites with notes stay below a twentieth of it."""
MOST_UNFOLDED_BYTES = 60_000_000
"""What all parts may hold when they are unfolded: as told by the file, more than which is never read."""
MOST_PARTS = 2_000
MANIFEST = "META-INF/manifest.xml"
NO_ZIP = (
    *(zipfile.BadZipFile, NotImplementedError, OSError, EOFError, RuntimeError, UnicodeDecodeError),
    *(ValueError, LookupError),
)
"""What the zip reader raises on what is broken or made to break it."""
COMPOUND_FILE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
ENCRYPTED = "EncryptedPackage".encode("utf-16-le")
ODS_TYPE = b"application/vnd.oasis.opendocument.spreadsheet"
ODS_ENDING = ".ods"
MACRO_FOLDERS = ("basic/", "scripts/")
SAVE_AS = "save it as an .xlsx or .ods workbook without macros or password, or as CSV UTF-8"


class NotOpenedError(ValueError):
    """A workbook is not opened; the message says why, to stand after the file's name, and `fix` what to do."""

    def __init__(self, what: str, fix: str = SAVE_AS) -> None:
        super().__init__(what)
        self.fix = fix


def workbook_parts(path: Path, instead: Instead = NOTHING) -> zipfile.ZipFile:
    """Return a workbook's parts, held in memory. Raises NotOpenedError."""
    try:
        content = read_plain(path, MOST_BYTES, instead)
    except OSError as error:
        raise NotOpenedError(f"cannot be read: {error.strerror or type(error).__name__}", "") from error
    if len(content) > MOST_BYTES:
        raise NotOpenedError(f"is larger than {MOST_BYTES // 1_000_000} million bytes", "is it the right file?")
    if content.startswith(COMPOUND_FILE):
        protected = ENCRYPTED in content
        raise NotOpenedError("is protected by a password" if protected else "is a workbook of an old form (.xls)")
    if not content:
        raise NotOpenedError("is empty", "delete it, or write a table into it")
    try:
        parts = zipfile.ZipFile(io.BytesIO(content))
        _bounded(parts)
        (_require_ods if path.suffix.lower() == ODS_ENDING else _require_xlsx)(parts)
    except (*NO_ZIP, zlib.error) as error:
        if isinstance(error, NotOpenedError):
            raise
        what = f"is not a whole workbook: it is cut short, or no {path.suffix.lower()} file at all"
        raise NotOpenedError(what) from error
    return parts


def _require_xlsx(parts: zipfile.ZipFile) -> None:
    names = {name.lower() for name in parts.namelist()}
    if any(name.endswith("vbaproject.bin") for name in names):
        raise NotOpenedError("holds macros")
    if "mimetype" in names and "content.xml" in names:
        raise NotOpenedError("is an OpenDocument spreadsheet under another name", "let its name end in .ods")
    if "[content_types].xml" not in names:
        raise NotOpenedError("is a zip file, but not a workbook")


def _require_ods(parts: zipfile.ZipFile) -> None:
    names = set(parts.namelist())
    if "[Content_Types].xml" in names:
        raise NotOpenedError("is no .ods workbook, though its name says so", "let its name end as the file is")
    if "encrypted-package" in names or (MANIFEST in names and b"encryption-data" in parts.read(MANIFEST)):
        raise NotOpenedError("is protected by a password")
    if any(name.lower().startswith(MACRO_FOLDERS) for name in names):
        raise NotOpenedError("holds macros")
    if "mimetype" in names and not parts.read("mimetype").startswith(ODS_TYPE):
        raise NotOpenedError("is an OpenDocument file, but not a spreadsheet")
    if "content.xml" not in names:
        raise NotOpenedError("is a zip file, but not a workbook")


def _bounded(parts: zipfile.ZipFile) -> None:
    infos = parts.infolist()
    names = {info.filename.lower() for info in infos}
    if any(info.flag_bits & 1 for info in infos):
        raise NotOpenedError("is protected by a password")
    if len(infos) > MOST_PARTS or len(names) < len(infos):
        raise NotOpenedError("is made of too many parts, or of several of one name", "is it the right file?")
    unfolded = sum(info.file_size for info in infos)
    if unfolded > MOST_UNFOLDED_BYTES:
        raise NotOpenedError(
            f"unfolds to more than {MOST_UNFOLDED_BYTES // 1_000_000} million bytes",
            "copy the table into a new workbook, without pictures and empty formatted rows",
        )
