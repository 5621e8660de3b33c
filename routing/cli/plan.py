"""The command that plans a round, checks it and writes it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from routing import stages
from routing.cli.farms import farm_of
from routing.cli.options import AsJson, Folder, Full, Nicknames, On, Replace, Seconds, WithPrivate, date_of
from routing.cli.road_bar import ready_roads
from routing.cli.search_shown import SearchShown
from routing.cli.telling import (
    console,
    say,
    say_json,
    tell_again,
    tell_forgotten,
    tell_removed,
    tell_stopped,
    told_plainly,
)
from routing.errors import AskedError
from routing.share import exports, terminal

if TYPE_CHECKING:
    from routing.farm.models import Farm
    from routing.output.whole import Filled
    from routing.round import Round
    from routing.stages.plan import Planned
    from routing.stages.write import Written

commands = typer.Typer(rich_markup_mode=None)


@commands.command()
def plan(
    folder: Folder,
    on: On = "tomorrow",
    days: Annotated[int, typer.Option("--days", min=1, max=31, help="How many days in a row to plan together.")] = 1,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            help="Where to write the round. Default: rounds/DATE in the farm folder, rounds/A to B of several days.",
        ),
    ] = None,
    as_json: AsJson = False,
    sure: Annotated[
        float | None, typer.Option("--sure", help="Plan so that the day holds with this chance: 0.5 to 0.99.")
    ] = None,
    with_private: WithPrivate = False,
    nicknames: Nicknames = False,
    turns: Annotated[bool, typer.Option("--turns", help="Print what to do where on each drive, too.")] = False,
    even: Annotated[
        bool, typer.Option("--even", help="Make the longest day as short as can be found for the same jobs.")
    ] = False,
    full: Full = False,
    seconds: Seconds = None,
    replace: Replace = False,
) -> None:
    """Plan, check and write the round of a day or more.

    Prints it on one screen (all of it with --full) and writes it as JSON, Markdown, a page for print, a map, and a page
    for each crew's phone. Ctrl-C ends the search and keeps the best round until then; a second Ctrl-C writes nothing.
    """
    search = SearchShown(seconds)
    with told_plainly(), search.heeded():
        if sure is not None and (even or seconds is not None):
            raise AskedError(f"--sure and {'--even' if even else '--seconds'} do not go together: leave out one")
        farm = farm_of(folder)
        dates = _dates(date_of(on, farm), days)
        place, option = (out, "--out") if out is not None else (stages.written.folder_of(farm, dates), "")
        ground = stages.write.ground(farm, replace=replace)
        stages.write.may_be_planned_into(place, farm, dates, ground, option)
        ready_roads(farm)
        found = _planned(farm, dates, search, even=even) if sure is None else _sure(farm, dates, search, sure)
        tell_again(again=found.again)
        planned = found.round
        written = stages.write.write_plan(
            farm,
            planned,
            place,
            replace=replace,
            with_private=with_private,
            nicknames=nicknames,
            option=option,
            key=found.key,
            timed=seconds is not None,
        )
        _tell(planned, written)
        if as_json:
            say_json(exports.round_json(planned))
        else:
            _print(planned, written.filled, full=full, turns=turns)


def _dates(first: dt.date, days: int) -> tuple[dt.date, ...]:
    return tuple(first + dt.timedelta(days=number) for number in range(days))


def _planned(farm: Farm, dates: Sequence[dt.date], search: SearchShown, *, even: bool) -> Planned:
    with search.shown() as hear:
        return stages.plan.planned(farm, *dates, wish=stages.plan.Wish(search.seconds, hear, even), keep_stopped=True)


def _sure(farm: Farm, dates: Sequence[dt.date], search: SearchShown, sure: float) -> Planned:
    """Return the round that holds with so much of a chance. Raises AskedError."""
    if len(dates) > 1:
        raise AskedError("--sure goes with one day: leave out --days")
    with search.shown():
        return stages.plan.planned_sure(farm, dates[0], sure)


def _tell(planned: Round, written: Written) -> None:
    """Say on standard error what is to be known of how the round was made and written."""
    tell_forgotten(written.forgotten)
    tell_removed(written.filled)
    tell_stopped(stopped=planned.proof.stopped)


def _print(planned: Round, filled: Filled, *, full: bool, turns: bool) -> None:
    (terminal.print_round if full else terminal.print_brief)(planned, console())
    if turns:
        terminal.print_turns(planned, console())
    folder = filled.paths[0].parent
    say(f"Written to {folder}: {', '.join(path.name for path in filled.paths)}")
