"""Values of farm.toml changed in place: comments, order and spelling of all else stay."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

import tomlkit
from tomlkit.container import OutOfOrderTableProxy
from tomlkit.exceptions import TOMLKitError

from routing.desk.files.changes import NotEditedError
from routing.desk.files.csv_bytes import encoded

type Step = str | int
"""A key, or which one of an array of tables, counted from 0."""
type Value = str | int | float | bool | list[Value] | dict[str, Value] | None
"""None removes the key, or what stands in a list; a dict is a table, and a step one past the end of a list adds one."""

BY_HAND = "change it in a text editor; this page reads it again as soon as it is saved"


def toml_edited(content: bytes, file: str, values: Mapping[tuple[Step, ...], Value]) -> bytes:
    """Return a TOML file with values set by the way to each; tables on the way are made where they are missing.

    Raises NotEditedError where the rest would not stay as it is.
    """
    text = encoded(content, file)
    try:
        wanted = tomllib.loads(text.text)
        document = tomlkit.parse(text.text)
        if document.as_string() != text.text:
            raise NotEditedError(f"{file} is written in a way that would not stay as it is: {BY_HAND}")
        for way, value in values.items():
            _put(wanted, way, copy.deepcopy(value))
            _put(document, way, value)
        new = document.as_string()
        if tomllib.loads(new) != wanted:
            raise NotEditedError(f"{file}: {_named(way)} cannot be changed alone: {BY_HAND}")
    except (TOMLKitError, tomllib.TOMLDecodeError, LookupError, TypeError, AttributeError) as error:
        raise NotEditedError(f"{file} cannot be changed there: {BY_HAND}") from error
    return text.bytes_of(new)


def base_keys(content: bytes, file: str) -> frozenset[str]:
    """Return the keys under [base]; none where the file is broken. Raises NotEditedError where it is no text."""
    try:
        found = tomllib.loads(encoded(content, file).text).get("base", {})
    except tomllib.TOMLDecodeError:
        return frozenset()
    return frozenset(found) if isinstance(found, dict) else frozenset()


def _named(way: Sequence[Step]) -> str:
    return ".".join(str(step) for step in way)


def _put(tables: Any, way: Sequence[Step], value: Value) -> None:  # noqa: ANN401 - a table of the library or a dict
    *before, last = way
    for number, step in enumerate(before):
        if isinstance(step, str) and step not in tables:
            tables[step] = _tables_down(way[number + 1 :], value, tables)
            return
        tables = tables[step]
    if value is None:
        del tables[last]
    elif isinstance(last, int) and last == len(tables):
        tables.append(_item(value, tables))
    else:
        tables[last] = _item(value, tables)


def _tables_down(way: Sequence[Step], value: Value, into: Any) -> Any:  # noqa: ANN401 - as above
    """Return a table with the value at the end of a way, whole: what is put into one in pieces can be put elsewhere."""
    if value is None:
        raise KeyError(way[-1])
    own = isinstance(into, tomlkit.container.Container | tomlkit.items.Item | OutOfOrderTableProxy)
    found = tomlkit.table(is_super_table=len(way) > 1) if own else {}
    found[way[0]] = _tables_down(way[1:], value, found) if way[1:] else _item(value, found)
    return found


def _item(value: Value, into: Any) -> Any:  # noqa: ANN401 - an item of the library or a plain value
    """Return a value as it is written: a number with its source on one line, a table with a blank line after it."""
    if not isinstance(into, tomlkit.container.Container | tomlkit.items.Item | OutOfOrderTableProxy):
        return value
    if isinstance(value, list) and any(isinstance(part, dict) for part in value):
        rows = tomlkit.array().multiline(multiline=True)
        for part in value:
            rows.append(_item(part, rows))
        return rows
    if not isinstance(value, dict):
        return value
    if "value" in value or isinstance(into, tomlkit.items.Array):
        found = tomlkit.inline_table()
        found.update(value)
        return found
    table = tomlkit.table()
    for key, part in value.items():
        table.add(key, _item(part, table))
    table.add(tomlkit.nl())
    return table
