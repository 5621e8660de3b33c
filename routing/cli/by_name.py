"""Commands found by name: the file of a command is imported when that command is asked for, and no other is.

So `outyard --help` is quick, and every file of commands has what it needs, however heavy, at its top.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, MutableMapping
from dataclasses import dataclass
from typing import Any, ClassVar, cast

import typer
from typer.core import TyperCommand, TyperGroup
from typer.main import get_group

from routing.lazily import imported

PACKAGE = "routing.cli"

type Command = TyperCommand | TyperGroup


@dataclass(frozen=True)
class In:
    """Where a command stands: the module of this package whose `commands` have it, and what a list says of it."""

    module: str
    help: str
    """The first sentence of the command's own help, since a list of commands imports none of them."""

    @property
    def path(self) -> str:
        """The whole name of the module."""
        return f"{PACKAGE}.{self.module}"


class Commands(MutableMapping[str, Command]):
    """The commands of a group by name, each imported when it is looked up; the names alone import nothing."""

    def __init__(self, table: Mapping[str, In], groups: Mapping[str, Command]) -> None:
        """Begin with the names of a table, and after them with groups, which are made already."""
        self.table = table
        self._made = dict(groups)
        self._names = dict.fromkeys((*table, *groups))

    def __getitem__(self, name: str) -> Command:
        """Return a command. Raises KeyError where there is none, and whatever its module raises at its import."""
        if name not in self._made:
            stands = self.table[name]
            module = imported(stands.path)
            self._made[name] = cast("Command", get_group(module.commands).commands[name])
        return self._made[name]

    def __setitem__(self, name: str, command: Command) -> None:
        self._made[name] = command
        self._names[name] = None

    def __delitem__(self, name: str) -> None:
        del self._names[name]
        self._made.pop(name, None)

    def __iter__(self) -> Iterator[str]:
        return iter(self._names)

    def __len__(self) -> int:
        return len(self._names)

    def __contains__(self, name: object) -> bool:
        return name in self._names

    def at_hand(self, name: str) -> Command | None:
        """Return a command if that imports nothing, else None."""
        return self[name] if name in self._made or self.table[name].path in sys.modules else None


class ByName(TyperGroup):
    """A group whose commands are found by name."""

    TABLE: ClassVar[Mapping[str, In]] = {}
    """Its commands but for groups, in the order of its help."""

    def __init__(self, **given: Any) -> None:  # noqa: ANN401 - handed on as the library hands it over
        super().__init__(**given)
        # The library asks for no more than a mapping that can be changed; its own kind of command is private to it.
        self.commands = cast("MutableMapping[str, Any]", Commands(self.TABLE, cast("Any", self.commands)))

    def list_commands(self, ctx: typer.Context) -> list[str]:  # type: ignore[override]
        """Return the names in the order of the help."""
        del ctx
        return list(self.commands)

    def format_commands(self, ctx: typer.Context, formatter: Any) -> None:  # type: ignore[override] # noqa: ANN401
        """Write the list of commands as the library does, from the table alone."""
        names = self.list_commands(ctx)
        room = formatter.width - 6 - max(map(len, names))
        rows = [(name, self._listed(name).get_short_help_str(room)) for name in names]
        with formatter.section("Commands"):
            formatter.write_dl(rows)

    def _listed(self, name: str) -> Command:
        """Return a command as far as a list needs it."""
        if name in self.TABLE:
            return TyperCommand(name, help=self.TABLE[name].help)
        return cast("Command", self.commands[name])
