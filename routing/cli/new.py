"""The command that begins a farm folder."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from routing import farm
from routing.cli.telling import say, tell_paths, told_plainly

commands = typer.Typer(rich_markup_mode=None)


@commands.command()
def new(
    folder: Annotated[Path, typer.Argument(help="A folder that does not exist yet, or is empty.")],
    xlsx: Annotated[
        bool, typer.Option("--xlsx", help="Put the tables into one workbook, farm.xlsx, with drop-downs and notes.")
    ] = False,
    places: Annotated[
        Path | None,
        typer.Option("--from", help="Take the sites from a table (CSV, XLSX, ODS), GPX waypoints or GeoJSON points."),
    ] = None,
    base: Annotated[str, typer.Option("--base", help="With --from: where the vehicle is loaded, as a place.")] = "",
    hives: Annotated[
        int | None,
        typer.Option(
            "--hives", min=0, max=5000, help="With --from: hives at each site for which the file has no number."
        ),
    ] = None,
) -> None:
    """Write a commented farm folder to start from."""
    with told_plainly():
        ask = typer.prompt if sys.stdin.isatty() else None
        written, warnings = farm.new_farm.new_farm(folder, xlsx=xlsx, places=places, base=base, hives=hives, ask=ask)
        for warning in warnings:
            say(f"warning: {warning}", err=True)
        tell_paths(written)
