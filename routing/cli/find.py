"""The command that finds a place by its name."""

from __future__ import annotations

import json
from typing import Annotated

import typer

from routing import stages
from routing.cli.farms import farm_of
from routing.cli.options import AsJson, Folder
from routing.cli.telling import say, say_json, told_plainly
from routing.errors import AskedError
from routing.farm.faults import quoted

commands = typer.Typer(rich_markup_mode=None)


@commands.command()
def find(
    folder: Folder,
    words: Annotated[list[str], typer.Argument(help="The name, or the beginnings of its words.")],
    ask: Annotated[
        bool, typer.Option("--ask", help="Ask the service that farm.toml names under [find]; the words are sent to it.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Find a place by its name.

    Looks among the farm's sites and the names in its road map, with no network. Each line can be copied into a cell
    `place`. With --ask the service of `[find]` is asked instead, and its answer is kept in the farm folder.
    """
    with told_plainly():
        farm, asked = farm_of(folder), " ".join(words)
        if ask and (told := stages.find.before_asking(farm)):
            say(told, err=True)
        found = stages.find.asked(farm, asked) if ask else stages.find.found(farm, asked)
        if not found:
            raise AskedError(
                f"nothing here is called {quoted(asked)}: {_way_out(asks=ask, map_there=bool(farm.road_map))}"
            )
        if as_json:
            rows = [
                {"name": one.name, "kind": one.kind, "latitude": one.place.latitude, "longitude": one.place.longitude}
                for one in found
            ]
            say_json(json.dumps(rows, ensure_ascii=False, indent=1) + "\n")
            return
        for one in found:
            say(f"{one.place.latitude:.5f}, {one.place.longitude:.5f}  {one.name} ({one.kind})")


def _way_out(*, asks: bool, map_there: bool) -> str:
    if asks:
        return "write less of the name, or point to the place on the desk's map"
    if not map_there:
        return "farm.toml names no road map, whose names are looked through; or say --ask"
    return "write less of the name, or say --ask"
