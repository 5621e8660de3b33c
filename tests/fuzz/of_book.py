"""The target `book`: the parts of a workbook in both forms, zipped again and read as a farm, and a whole file's bytes."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

from routing.farm.folder import read_farm
from tests.farm.books import by_odfdo, by_openpyxl
from tests.fuzz import small_farm
from tests.fuzz.inputs import Files
from tests.fuzz.mutate import bytes_changed, markup_changed
from tests.fuzz.target import Target, scratch, written

READ_BY = ("workbooks", "workbook_open", "workbook_cells", "workbook_facts", "workbook_zip", "ods_books", "ods_cells", "ods_tables", "formulas", "headers", "written_forms")  # fmt: skip
ROWS: dict[str, list[list[str | int | None]]] = {
    "Sites": [["Our sites"], ["id", "place", "hives", "hours"], ["one", "52.61, -2.95", 10, "8-16"], ["two", "52.62, -2.9", "12", None]],
    "Jobs": [["site", "job", "due_by", "hives"], ["one", "feed-fondant", "12.6.2026", "2"], ["two", "inspect", None, 3]],
}  # fmt: skip
EXCEL = ("[Content_Types].xml", "_rels/.rels", "xl/workbook.xml", "xl/_rels/workbook.xml.rels", "xl/styles.xml", "xl/sharedStrings.xml", "xl/worksheets/sheet1.xml", "xl/worksheets/sheet2.xml")  # fmt: skip
OPEN = ("mimetype", "META-INF/manifest.xml", "content.xml", "styles.xml")
WHOLE = "farm.xlsx"


def book_target() -> Target:
    """Return the target."""
    folder = scratch()
    settings = {"farm.toml": small_farm.example()["farm.toml"]}
    excel, open_ = _excel(), _open()

    def run(files: Files) -> None:
        read_farm(written(_books(files), folder, settings))

    return Target(
        "book",
        {**dict.fromkeys((*EXCEL, *OPEN), markup_changed), WHOLE: bytes_changed},
        ({name: excel[name] for name in EXCEL if name in excel}, {name: open_[name] for name in OPEN}, {WHOLE: _zipped(excel)}),
        run,
        tuple(f"farm/{name}.py" for name in READ_BY),
    )  # fmt: skip


def _books(files: Files) -> Files:
    """Return the workbook that the parts make: a whole file as it is, else by the first part that tells its form."""
    if WHOLE in files:
        return {WHOLE: files[WHOLE]}
    if "content.xml" in files or "mimetype" in files:
        return {"farm.ods": _zipped({name: files[name] for name in OPEN if name in files})}
    return {WHOLE: _zipped({name: files[name] for name in EXCEL if name in files})}


def _zipped(parts: Files) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as book:
        for name, content in parts.items():
            book.writestr(zipfile.ZipInfo(name), content)
    return held.getvalue()


def _parts(path: Path) -> Files:
    with zipfile.ZipFile(path) as book:
        return {name: book.read(name) for name in book.namelist()}


def _excel() -> Files:
    path = scratch() / WHOLE
    by_openpyxl(path, ROWS)
    return _parts(path)


def _open() -> Files:
    path = scratch() / "farm.ods"
    by_odfdo(path, ROWS)
    return _parts(path)
