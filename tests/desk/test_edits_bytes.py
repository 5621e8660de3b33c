"""Files in every way that they are written, CSV, workbooks and TOML, are changed in a cell and undone to the byte."""

from __future__ import annotations

import csv
import io
import random
import shutil
import zipfile
from pathlib import Path
from typing import Literal

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.desk.edits import Edits
from routing.desk.files.changes import Change, NewRow, NotEditedError
from routing.desk.files.csv_spans import spanned_rows
from routing.desk.files.saving import digest_of
from routing.desk.files.toml_edit import toml_edited
from routing.farm.folder import read_farm
from routing.farm.starter import STARTER, starter_book, write_new_farm
from tests.desk.grid_bench import new_farm, write_cell
from tests.together import then_deep


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    return new_farm(tmp_path / "farm")


def test_a_windows_file_stays_one_and_refuses_what_it_cannot_hold(farm: Path) -> None:
    content = (
        (farm / "sites.csv")
        .read_text()
        .replace("Old orchard", "Alter Obstgarten, Höhe")
        .replace("orchard,Alter Obstgarten, Höhe", 'orchard,"Alter Obstgarten, Höhe"')
        .encode("cp1252")
    )
    (farm / "sites.csv").write_bytes(content)
    edits = Edits(farm)
    assert write_cell(edits, "sites", 3, "name", "Steinbruch für Bienen")
    assert (farm / "sites.csv").read_bytes() == content.replace(
        b"Quarry edge", "Steinbruch für Bienen".encode("cp1252")
    )
    with pytest.raises(NotEditedError, match="Windows-1252"):
        write_cell(edits, "sites", 3, "name", "東 Field")


_TEXT = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), max_size=12)


def _farm_of_dialect(folder: Path, chooser: random.Random) -> bytes:
    """Write a farm whose sites.csv is in some dialect, and return its bytes."""
    delimiter, end = chooser.choice(",;\t"), chooser.choice(["\n", "\r\n", "\r"])
    quoting: Literal[0, 1, 2] = chooser.choice([csv.QUOTE_MINIMAL, csv.QUOTE_ALL, csv.QUOTE_NONNUMERIC])
    columns = ["id", "name", "latitude", "longitude", "hives", "notes", "My own", "gate_code"]
    chooser.shuffle(columns)
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=delimiter, lineterminator=end, quoting=quoting)
    for _ in range(chooser.randrange(3)):
        writer.writerow(["Title of this table"])
    writer.writerow([chooser.choice([name, name.upper(), name.replace("_", " ")]) for name in columns])
    for number in range(chooser.randrange(1, 7)):
        cells = {"id": f"s{number}", "latitude": f"52.{number}", "longitude": f"-2.{number}", "hives": number + 1}
        note = chooser.choice(["", 'a "b"', f"two{end}lines", f"x{delimiter} y", "  spaces  ", "é"])
        writer.writerow([{**cells, "notes": note, "My own": note}.get(name, "") for name in columns])
        if chooser.random() < 0.2:
            out.write(end)
    if chooser.random() < 0.3:
        out.write(f"{end}A note below the table")
    text = out.getvalue()
    if chooser.random() < 0.3:
        text = text.rstrip("\r\n")
    content = text.encode(chooser.choice(["utf-8", "utf-8-sig", "cp1252"]))
    (folder / "sites.csv").write_bytes(content)
    return content


@pytest.mark.parametrize("dialects", then_deep([100], [300]))
def test_many_dialects_are_edited_and_undone_to_the_byte(farm: Path, dialects: int) -> None:
    for name in ("jobs.csv", "drives.csv"):
        (farm / name).unlink()
    (farm / "farm.toml").write_text(STARTER["farm.toml"].replace("SO 512 402", "52.2, -2.5"))
    kept = 0
    for seed in range(dialects):
        chooser = random.Random(seed)
        content = _farm_of_dialect(farm, chooser)
        edits = Edits(farm)
        before = {site.id: site for site in read_farm(farm).sites}
        table = edits.table("sites")
        row = chooser.choice(table.rows)
        added = NewRow({"id": "zz", "latitude": "52.9", "longitude": "-2.9", "hives": "77", "notes": "a; b, c"})
        assert edits.change("sites", table.digest, Change({row.line: {"hives": "99", "name": 'Q "x"'}}, (added,))).kept
        after = {site.id: site for site in read_farm(farm).sites}
        changed = before.pop(row.cells["id"])
        assert (after[changed.id].hives, after[changed.id].name, after["zz"].hives) == (99, 'Q "x"', 77)
        assert {key: site.model_copy(update={"line": 0}) for key, site in before.items()} == {
            key: site.model_copy(update={"line": 0}) for key, site in after.items() if key not in {changed.id, "zz"}
        }
        assert edits.undo().kept
        assert (farm / "sites.csv").read_bytes() == content, seed
        kept += 1
    assert kept == dialects


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.integers(2, 6), st.sampled_from(["name", "notes", "private_notes", "hours", "hives", "place"]), _TEXT
        ),
        max_size=6,
    )
)
def test_random_edits_undone_give_the_bytes_again(
    tmp_path_factory: pytest.TempPathFactory, changes: list[tuple[int, str, str]]
) -> None:
    farm = tmp_path_factory.mktemp("farms") / "farm"
    write_new_farm(farm, {name: text.encode() for name, text in STARTER.items()})
    before = (farm / "sites.csv").read_bytes()
    edits, versions = Edits(farm), [before]
    for line, column, text in changes:
        kept = write_cell(edits, "sites", line, column, text)
        content = (farm / "sites.csv").read_bytes()
        assert kept or content == versions[-1]
        read_farm(farm)  # what is written has no fault
        if content != versions[-1]:
            versions.append(content)
    for content in reversed(versions[:-1]):
        assert edits.undo().kept
        assert (farm / "sites.csv").read_bytes() == content
    for content in versions[1:]:
        assert edits.redo().kept
        assert (farm / "sites.csv").read_bytes() == content
    shutil.rmtree(farm)


@settings(max_examples=300, deadline=None)
@given(
    st.lists(st.lists(st.text(st.sampled_from('ab,;" \n\r\t'), max_size=5), min_size=1, max_size=4), max_size=5),
    st.sampled_from(",;\t"),
)
def test_spans_cut_a_text_as_the_reader_does(rows: list[list[str]], delimiter: str) -> None:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter).writerows(rows)
    text = out.getvalue()
    spanned = list(spanned_rows(text, delimiter))
    assert "".join(text[row.start : row.end] for row in spanned) == text
    read = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    assert [[_plain(text[one.start : one.end]) for one in row.cells] for row in spanned] == [
        row or [""] for row in read
    ]


def _plain(raw: str) -> str:
    return raw[1:-1].replace('""', '"') if raw.startswith('"') else raw


def test_a_workbook_keeps_every_other_part_andwrite_cell(tmp_path: Path) -> None:
    farm = tmp_path / "farm"
    write_new_farm(farm, starter_book())
    before = (farm / "farm.xlsx").read_bytes()
    edits = Edits(farm)
    table = edits.table("jobs")
    added = NewRow({"site": "wood", "kind": "heft", "due_by": "2026-12-24", "note": "=1+1 & <so>"})
    outcome = edits.change(
        "jobs", table.digest, Change({2: {"due_by": "2026-12-13", "hives": "3"}}, (added,), frozenset({4}))
    )
    assert outcome.kept, outcome
    jobs = read_farm(farm).jobs
    assert (str(jobs[0].due_by), jobs[0].hives) == ("2026-12-13", 3)
    assert (jobs[-1].site, str(jobs[-1].due_by), jobs[-1].note) == ("wood", "2026-12-24", "=1+1 & <so>")
    assert "storm-check" not in {job.kind for job in jobs}
    old, new = zipfile.ZipFile(io.BytesIO(before)), zipfile.ZipFile(farm / "farm.xlsx")
    assert old.namelist() == new.namelist()
    assert [name for name in old.namelist() if old.read(name) != new.read(name)] == ["xl/worksheets/sheet2.xml"]
    assert edits.undo().kept
    assert (farm / "farm.xlsx").read_bytes() == before


def test_a_workbook_with_formulas_is_read_and_not_edited(tmp_path: Path) -> None:
    farm = tmp_path / "farm"
    write_new_farm(farm, starter_book())
    book = openpyxl.load_workbook(farm / "farm.xlsx")
    book.create_sheet("Sums")["A1"] = "=SUM(Sites!F2:F6)"
    book.save(farm / "farm.xlsx")
    edits = Edits(farm)
    assert "holds formulas" in edits.table("sites").closed
    before = (farm / "farm.xlsx").read_bytes()
    with pytest.raises(NotEditedError, match="edit it in your spreadsheet"):
        write_cell(edits, "sites", 2, "hives", "4")
    assert (farm / "farm.xlsx").read_bytes() == before


def test_a_value_of_farm_toml_changes_and_comments_stay(farm: Path) -> None:
    before = (farm / "farm.toml").read_bytes()
    edits = Edits(farm)
    base = digest_of(edits.settings())
    assert edits.change_settings(base, {("crew", 0, "home_by"): "17:30", ("stock", "fondant"): 140}).kept
    wanted = before.replace(b'home_by = "18:00"', b'home_by = "17:30"').replace(
        b"fondant = 150  #", b"fondant = 140  #"
    )
    assert (farm / "farm.toml").read_bytes() == wanted
    assert not edits.change_settings(base, {("crew", 0, "home_by"): "17:00"}).kept  # changed since
    refused = edits.change_settings(digest_of(wanted), {("crew", 0, "home_by"): "dusk"})
    assert not refused.kept
    assert "home_by" in refused.faults[0].what
    assert edits.undo().kept
    assert (farm / "farm.toml").read_bytes() == before


def test_a_toml_file_with_odd_line_ends_keeps_them() -> None:
    content = b'\xef\xbb\xbfa = 1\r\n# note\r\n[b]\r\nc = "x"  # why\r\n'
    assert toml_edited(content, "farm.toml", {("b", "c"): "y", ("a",): 2}) == content.replace(b'"x"', b'"y"').replace(
        b"a = 1", b"a = 2"
    )
