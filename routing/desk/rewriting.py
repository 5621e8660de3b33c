"""What a remedy or a what-if would change in the farm's files, line by line before it is written, and the writing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import SequenceMatcher

from routing.desk.edits import Edits, Outcome
from routing.desk.files.changes import Change, NewRow
from routing.desk.files.csv_bytes import encoded
from routing.desk.files.saving import digest_of
from routing.desk.files.toml_edit import toml_edited
from routing.errors import AskedError, OutyardError
from routing.farm.settings import FILE as SETTINGS
from routing.share.safety.safe import plain_text
from routing.share.wording.file_changes import cell_words, line_words, row_words
from routing.stages.file_changes import FileChanges

JOBS = "jobs"


@dataclass(frozen=True)
class Preview:
    """What would be written: the digest of the file as it is now, and a sentence for each line that changes."""

    base: str = ""
    lines: tuple[str, ...] = ()
    why_not: str = ""
    """Why it cannot be written, empty where it can."""


def preview(edits: Edits, changes: FileChanges) -> Preview:
    """Return what changes that may be written would write; nothing is written."""
    try:
        if changes.settings:
            content = edits.settings()
            return Preview(digest_of(content), tuple(_settings_lines(content, changes)))
        table = edits.table(JOBS)
        table.edited(table.ready(_change(changes)))
    except (OutyardError, OSError) as error:
        return Preview(why_not=plain_text(str(error)))
    rows = {row.line: row.cells for row in table.rows}
    lines = [_cell(table.file, line, rows.get(line, {}), change) for line, change in _cells(changes)]
    return Preview(table.digest, (*lines, *(row_words(table.file, dict(cells)) for cells, _ in changes.rows)))


def write(edits: Edits, changes: FileChanges, base: str, what: str) -> Outcome:
    """Write changes to a file that still is as `base` says. Raises AskedError with why nothing was written."""
    what = plain_text(what, 200)
    if changes.settings:
        outcome = edits.change_settings(base, dict(changes.settings), what)
    else:
        if edits.table(JOBS).digest != base:
            raise AskedError(f"{edits.table(JOBS).file} was changed meanwhile: look again at what would be written")
        outcome = edits.change_whole(JOBS, base, _change(changes), what)
    if not outcome.kept:
        raise AskedError(outcome.why_not)
    return outcome


def _change(changes: FileChanges) -> Change:
    return Change(
        {line: dict(cells) for line, cells in changes.cells.items()},
        tuple(NewRow(cells, after) for cells, after in changes.rows),
    )


def _cells(changes: FileChanges) -> Iterator[tuple[int, tuple[str, str]]]:
    for line, cells in changes.cells.items():
        for one in cells.items():
            yield line, one


def _cell(file: str, line: int, row: Mapping[str, str], change: tuple[str, str]) -> str:
    column, text = change
    whose = ", ".join(filter(None, (row.get("site", ""), row.get("kind", ""))))
    return cell_words(file, line, whose, column, row.get(column, ""), text)


def _settings_lines(content: bytes, changes: FileChanges) -> Iterator[str]:
    old = encoded(content, SETTINGS).text.splitlines()
    new = encoded(toml_edited(content, SETTINGS, dict(changes.settings)), SETTINGS).text.splitlines()
    for tag, a, b, c, d in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if tag == "equal":
            continue
        for step in range(max(b - a, d - c)):
            was, will = "".join(old[a + step : a + step + 1][: b - a - step]), "".join(new[c + step : d][:1])
            yield line_words(SETTINGS, (a if a + step < b else c) + step + 1, was, will)
