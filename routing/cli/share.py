"""The command that gives a round away."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from routing import stages
from routing.cli.farms import farm_of
from routing.cli.options import Folder, Nicknames, On, Replace, WithPrivate, date_of
from routing.cli.road_bar import ready_roads
from routing.cli.search_shown import SearchShown
from routing.cli.share_locked import agreed, tell_given
from routing.cli.share_passphrase import given_passphrase
from routing.cli.telling import tell_again, told_plainly

commands = typer.Typer(rich_markup_mode=None)


@commands.command()
def share(
    folder: Folder,
    on: On = "tomorrow",
    saved: Annotated[
        Path | None, typer.Option("--round", help="A saved round.json to share, instead of planning --on a date.")
    ] = None,
    gpx: Annotated[
        Path | None, typer.Option("--gpx", help="Write places, route and track as GPX to this file.")
    ] = None,
    ical: Annotated[Path | None, typer.Option("--ical", help="Write the visits as a calendar to this file.")] = None,
    geojson: Annotated[Path | None, typer.Option("--geojson", help="Write the map as GeoJSON to this file.")] = None,
    csv: Annotated[
        Path | None, typer.Option("--csv", help="Write a table for a spreadsheet, in your country's way, to this file.")
    ] = None,
    xlsx: Annotated[
        Path | None, typer.Option("--xlsx", help="Write the round as a workbook, a sheet a crew, to this file.")
    ] = None,
    lock: Annotated[
        bool, typer.Option("--lock", help="Write pages that open only with a passphrase, which is asked for.")
    ] = False,
    with_private: WithPrivate = False,
    nicknames: Nicknames = False,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", help="Where to write pages. Default: beside their round, as rounds/DATE in the farm folder."
        ),
    ] = None,
    only_locked: Annotated[
        bool, typer.Option("--only-locked", help="With --lock: remove pages there that open without a passphrase.")
    ] = False,
    replace: Replace = False,
) -> None:
    """Give a checked round away: positions leave the farm folder only in the files that are asked for here."""
    with told_plainly():
        farm = ready_roads(farm_of(folder))
        wanted = stages.share.Wanted(
            {"gpx": gpx, "ical": ical, "geojson": geojson, "csv": csv, "xlsx": xlsx},
            lock=lock,
            with_private=with_private,
            nicknames=nicknames,
            out=out,
            only_locked=only_locked,
            replace=replace,
        )
        given = stages.share.share_round(
            farm,
            saved or date_of(on, farm),
            wanted,
            passphrase=lambda: given_passphrase(stages.share.known_names(farm)),
            agreed=agreed,
            searching=SearchShown(None).shown,
        )
        tell_again(again=given.again)
        tell_given(given)
