"""A folder written as one whole: made beside its place and changed over in one step, the farmer's own files kept."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import secrets
import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from routing.errors import WriteError
from routing.farm.faults import quoted
from routing.output.beside import (
    FACTS,
    MAKING,
    NEW,
    OLD,
    PART,
    READY,
    clear_earlier,
    plain_name,
    recover,
    way_out,
    writing_in,
)
from routing.output.exchange import exchange
from routing.output.ledger import digest
from routing.output.places import SHOWN, Ground, may_be_filled

MOST_CARRIED = 10_000
"""Things of the farmer's own in a round's folder; where there are more, it is no round's folder."""


@dataclass(frozen=True)
class Filled:
    """What became of a folder: the files written, the names of ours that went, and of stale ones that were changed."""

    paths: tuple[Path, ...]
    removed: tuple[str, ...] = ()
    left: tuple[str, ...] = ()


def fill_folder(
    contents: Mapping[str, str],
    folder: Path,
    ground: Ground,
    *,
    stale: Callable[[str], bool] = lambda _name: False,
    private: bool = False,
    option: str = "",
) -> Filled:
    """Write each text to the file of its name in `folder`, as UTF-8; the old files or the new ones stand, never both.

    Files that this program wrote there and that are `stale` go; everything else stays as it is. What is `private` is
    for nobody else to read. Raises AskedError where the folder may not be written, WriteError where it cannot be, and
    ValueError for a name that is not a plain file name.
    """
    texts = {plain_name(name): text.encode() for name, text in contents.items()}
    may_be_filled(folder, texts, ground, option)
    place = folder.parent.resolve() / folder.name if folder.name not in {"", ".."} else folder.resolve()
    made = [parent for parent in place.parents if not os.path.lexists(parent)]
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        with writing_in(place.parent):
            may_be_filled(folder, texts, ground, option)  # another writer, or an earlier one's end, may have changed it
            filled = _filled(texts, place, ground, stale, private=private)
    except OSError as error:
        for parent in made:
            with contextlib.suppress(OSError):
                parent.rmdir()
        raise WriteError(
            f"cannot write to {quoted(str(folder), longest=SHOWN)}: {error.strerror or error}; what stood there before "
            f"still stands: {way_out(error)} or name another folder"
        ) from error
    return Filled(tuple(folder / name for name in texts), filled.removed, filled.left)


def _filled(
    texts: Mapping[str, bytes], place: Path, ground: Ground, stale: Callable[[str], bool], *, private: bool
) -> Filled:
    standing = sorted(path.name for path in place.iterdir()) if place.exists() else []
    if standing:
        clear_earlier(place)
    old = [name for name in standing if name not in texts and stale(name)]
    removed = [name for name in old if ground.ledger.knows(place / name)]
    beside = Path(tempfile.mkdtemp(prefix=MAKING, dir=place.parent))
    try:
        new = beside / NEW / place.name
        (beside / OLD).mkdir()
        new.parent.mkdir()
        new.mkdir()
        _carry(place, new, without={*texts, *removed}, count=iter(range(MOST_CARRIED)))
        for name, content in texts.items():
            write_new(new / name, content, private=private)
        if place.exists():
            _same_outside(place, new)
        if private:
            new.chmod(0o700)
        digests = {name: hashlib.sha256(content).hexdigest() for name, content in texts.items()}
        replaced = {name: [digests.get(name), digest(place / name) or None] for name in (*texts, *removed)}
        facts = {"name": place.name, "number": new.stat().st_ino, "replaced": replaced}
        write_new(beside / FACTS, json.dumps(facts).encode(), private=True)
        sync_folder(new)
        sync_folder(beside)
        ground.ledger.note({place / name: sha256 for name, sha256 in digests.items()})
        beside = beside.rename(place.parent / (READY + beside.name.removeprefix(MAKING)))
        _change_over(beside, place)
    except BaseException:  # an interrupt leaves nothing half made either
        _back(beside)
        raise
    with contextlib.suppress(OSError):  # the round stands; what cannot be cleared now is cleared by the next writer
        recover(beside)
    return Filled((), tuple(removed), tuple(name for name in old if name not in removed))


def _back(beside: Path) -> None:
    with contextlib.suppress(OSError):
        if beside.name.startswith(READY):
            recover(beside)
        else:
            shutil.rmtree(beside)


def _change_over(ready: Path, place: Path) -> None:
    """Put the new folder in the place of the old one: at once where the system can, else by two renames."""
    new = ready / NEW / place.name
    if not place.exists():
        new.rename(place)
    elif not exchange(new, place):
        place.rename(ready / OLD / place.name)
        new.rename(place)
    sync_folder(place.parent)


def _carry(old: Path, new: Path, without: set[str], count: Iterator[int]) -> None:
    """Put everything of the old folder into the new one too, without some names: the same files, under a second name.

    Where a file system knows no second names, copies. Raises OSError where something cannot be carried.
    """
    if not old.exists():
        return
    for entry in list(os.scandir(old)):
        path, target = Path(entry.path), new / entry.name
        if entry.name in without:
            continue
        if next(count, None) is None:
            raise OSError(f"it holds more than {MOST_CARRIED} other things")
        if entry.is_dir(follow_symlinks=False):
            if path.is_mount():
                raise OSError(f"{path.name} in it is another drive")
            target.mkdir()
            _carry(path, target, set(), count)
            _same_outside(path, target)
            continue
        try:
            os.link(path, target, follow_symlinks=False)
        except (OSError, NotImplementedError):  # no second names here, or none of links
            if not entry.is_symlink() and not entry.is_file(follow_symlinks=False):
                raise
            shutil.copy2(path, target, follow_symlinks=False)
            _same_owner(path, target)


def _same_outside(old: Path, new: Path) -> None:
    shutil.copystat(old, new)
    _same_owner(old, new)


def _same_owner(old: Path, new: Path) -> None:
    """Give the new one the owner of the old one. Raises OSError where that is not allowed."""
    before, now = old.lstat(), new.lstat()
    if (before.st_uid, before.st_gid) != (now.st_uid, now.st_gid):
        os.chown(new, before.st_uid, before.st_gid, follow_symlinks=False)


def write_new(path: Path, content: bytes, *, private: bool) -> None:
    """Write a file that is not there yet, down to the disk; a private one is for nobody else to read."""
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    with os.fdopen(os.open(path, flags, 0o600 if private else 0o666), "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def put_private(file: Path, content: bytes) -> None:
    """Put content in a file of this program's own, for nobody else to read, in one step. Raises OSError."""
    with writing_in(file.parent):
        part = file.parent / (PART + secrets.token_hex(8))
        try:
            write_new(part, content, private=True)
            part.replace(file)
        finally:
            part.unlink(missing_ok=True)


def sync_folder(folder: Path) -> None:
    """Bring the names in a folder down to the disk, where a system lets a folder be opened."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
