"""The command that opens the desk."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from routing import desk
from routing.cli.telling import say, told_plainly
from routing.errors import AskedError
from routing.farm.faults import quoted
from routing.farm.folder import FILES
from routing.farm.on_disk import is_folder, is_there

commands = typer.Typer(rich_markup_mode=None)


@commands.command("open")
def open_(
    folder: Annotated[
        Path | None, typer.Argument(help="The farm folder. Default: this folder if it is one, else choose at the desk.")
    ] = None,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Only print the address of the desk.")] = False,
) -> None:
    """Open the desk, a page to work in, in the browser; outyard alone does the same.

    Nothing leaves this machine: the page is served to it alone, and asks no other host for anything.
    """
    with told_plainly():
        if folder is not None and not is_folder(folder):
            raise AskedError(f"there is no folder {quoted(str(folder), longest=1000)}; outyard new writes one")
        here = Path()
        desk.start.open_desk(folder or (here if is_there(here / FILES[0]) else None), say, browser=not no_browser)
