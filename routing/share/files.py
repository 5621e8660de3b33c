"""Saving: the round as JSON, and every output written whole or not at all."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

from pydantic import ValidationError

from routing.errors import AskedError, WriteError
from routing.farm.plain_files import read_plain
from routing.round import Round


def round_json(round_: Round) -> str:
    """Return the round as JSON, fields in the types' order, ending with a newline; `round_schema` describes it."""
    return round_.model_dump_json(indent=2) + "\n"


LARGEST_ROUND_BYTES = 50_000_000
"""A larger file is no round: that of a thousand stops stays far below."""


def read_round(path: Path) -> Round:
    """Return the round that a `round.json` holds. Raises AskedError where it holds none."""
    try:
        return Round.model_validate_json(read_plain(path, LARGEST_ROUND_BYTES))
    except OSError as error:
        raise AskedError(f"{path}: cannot be read ({error.strerror}); name a round.json") from error
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "the file"
        raise AskedError(f"{path}: is not a round of this version: {where}: {first['msg']}; plan it again") from error


def write_all(outputs: Mapping[str, str], folder: Path) -> tuple[Path, ...]:
    """Write each text to the file of its name in `folder`, as UTF-8, and return the paths in the mapping's order.

    All files are first written and flushed to disk beside their places, then moved there one by one. Where anything
    fails, what was moved is put back, so that the old files all stand. Missing folders are made.

    Raises WriteError with what went wrong, and ValueError for a name that is not a plain file name.
    """
    contents = {_plain_name(name): text.encode() for name, text in outputs.items()}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".round-", dir=folder, ignore_cleanup_errors=True) as beside:
            _stage(contents, folder, Path(beside))
            _move(list(contents), folder, Path(beside))
    except OSError as error:
        why = error.strerror or str(error)
        raise WriteError(
            f"cannot write to {folder}: {why}; what stood there before still stands: "
            "free some space or name another folder"
        ) from error
    return tuple(folder / name for name in contents)


def _plain_name(name: str) -> str:
    if not name or name in {".", ".."} or any(mark in name for mark in "/\\\0"):
        raise AskedError(f"{name!r} is not a plain file name: name a file to write")
    return name


def _stage(contents: Mapping[str, bytes], folder: Path, beside: Path) -> None:
    """Write the new files to `beside/new` and copy the old ones to `beside/old`."""
    (beside / "new").mkdir()
    (beside / "old").mkdir()
    for name, content in contents.items():
        if (folder / name).is_dir():
            raise IsADirectoryError(f"{folder / name} is a folder")
        with (beside / "new" / name).open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if (folder / name).exists():
            shutil.copy2(folder / name, beside / "old" / name)


def _move(names: list[str], folder: Path, beside: Path) -> None:
    """Move the new files to their places; on any failure put the old ones back."""
    moved: list[str] = []
    try:
        for name in names:
            (beside / "new" / name).replace(folder / name)
            moved.append(name)
    except BaseException:  # an interrupt between two moves must not leave half of a round either
        for name in moved:
            old = beside / "old" / name
            if old.exists():
                old.replace(folder / name)
            else:
                (folder / name).unlink()
        raise
