"""The log's file as it is at one moment, in memory: for reading where nothing can be written, and for mending.

Where the folder may not be written to or the disk is full, SQLite cannot even read a file with a write-ahead log,
because it keeps an index of that log beside it. The bytes can be read all the same; what the write-ahead log holds
of transactions that came to their end is put in its place here.

Source: sqlite.org/fileformat2.html (the database header; sections 4.1 and 4.2, the write-ahead log and its checksums).
"""

from __future__ import annotations

import sqlite3
import struct
from pathlib import Path

PAGE_SIZES = frozenset(2**power for power in range(9, 17))
"""Bytes that a page may have. Source: sqlite.org/fileformat.html, section 1.3.2."""
HEADER = 100
"""Bytes of the header of a database."""
MOST_BYTES = 1_000_000_000
"""A larger file is no log: ten years of entries every day come to some megabytes."""

_WAL_HEADER = struct.Struct(">8I")
_FRAME_HEADER = struct.Struct(">6I")
_LITTLE, _BIG = 0x377F0682, 0x377F0683
_WRITE_VERSION, _READ_VERSION = 18, 19
_TRIES = 5


def snapshot(file: Path) -> bytes:
    """Return the bytes of a database with what its write-ahead log holds. Raises OSError.

    Where another program writes meanwhile, it is read again.
    """
    wal = file.with_name(f"{file.name}-wal")
    for _ in range(_TRIES):
        before = _marks(file), _marks(wal)
        found = with_write_ahead(_read(file), _read(wal) if wal.is_file() else b"")
        if (_marks(file), _marks(wal)) == before:
            break
    return found


def in_memory(content: bytes) -> sqlite3.Connection:
    """Return a connection to a database in memory that begins with these bytes. Raises sqlite3.Error."""
    plain = bytearray(content)
    if len(plain) >= HEADER:
        plain[_WRITE_VERSION] = plain[_READ_VERSION] = 1  # there is no write-ahead log in memory
    connection = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    connection.deserialize(bytes(plain))
    return connection


def with_write_ahead(content: bytes, wal: bytes) -> bytes:
    """Return the database after all transactions of its write-ahead log that came to their end.

    The log is valid up to the first frame of another round of it or with a wrong checksum.
    """
    if len(wal) < _WAL_HEADER.size:
        return content
    magic, _, page_size, _, *salts, first, second = _WAL_HEADER.unpack_from(wal)
    if magic not in {_LITTLE, _BIG} or not is_page_size(page_size):
        return content
    order = "<" if magic == _LITTLE else ">"
    sums = _checksum(wal[:24], order, (0, 0))
    if sums != (first, second):
        return content
    whole, pages = bytearray(content), {}
    for start in range(_WAL_HEADER.size, len(wal), _FRAME_HEADER.size + page_size):
        frame = wal[start : start + _FRAME_HEADER.size + page_size]
        if len(frame) < _FRAME_HEADER.size + page_size:
            break
        number, size, *own_salts, first, second = _FRAME_HEADER.unpack_from(frame)
        sums = _checksum(frame[:8] + frame[_FRAME_HEADER.size :], order, sums)
        if own_salts != salts or sums != (first, second) or not 0 < number <= MOST_BYTES // page_size:
            break
        pages[number] = frame[_FRAME_HEADER.size :]
        if size:  # the last frame of a transaction
            _put(whole, pages, page_size, size)
            pages.clear()
    return bytes(whole)


def _put(whole: bytearray, pages: dict[int, bytes], page_size: int, size: int) -> None:
    """Put pages, numbered from 1, in their places; the database then has `size` of them."""
    length = min(size * page_size, MOST_BYTES)
    whole.extend(bytes(max(0, length - len(whole))))
    del whole[length:]
    for number, page in pages.items():
        if number <= size:
            whole[(number - 1) * page_size : number * page_size] = page


def _checksum(content: bytes, order: str, sums: tuple[int, int]) -> tuple[int, int]:
    first, second = sums
    words = struct.unpack(f"{order}{len(content) // 4}I", content)
    for even, odd in zip(words[::2], words[1::2], strict=True):
        first = (first + even + second) & 0xFFFFFFFF
        second = (second + odd + first) & 0xFFFFFFFF
    return first, second


def is_page_size(size: int) -> bool:
    """Return whether a database can have pages of so many bytes."""
    return size in PAGE_SIZES


def _read(file: Path) -> bytes:
    with file.open("rb") as opened:
        return opened.read(MOST_BYTES)


def _marks(file: Path) -> tuple[int, int] | None:
    try:
        found = file.stat()
    except FileNotFoundError:
        return None
    return found.st_size, found.st_mtime_ns
