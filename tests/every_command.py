"""Every command of the program, imported all: for tests that ask something of each."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from typer.core import TyperGroup
from typer.main import get_command

from routing.cli.app import app
from routing.cli.by_name import Command


@cache
def every_command() -> dict[tuple[str, ...], Command]:
    """Return each command that is no group by the words that call it, in the order of the help."""
    return dict(_in_group(get_command(app), ()))


def _in_group(command: object, words: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Command]]:
    if isinstance(command, TyperGroup):
        for name, inner in command.commands.items():
            yield from _in_group(inner, (*words, name))
    else:
        yield words, command  # type: ignore[misc]
