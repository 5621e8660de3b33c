"""The commands of who decides alone: try an order of your own, plan the rest of the day from where you stand."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Annotated

import typer

from routing.cli.farms import farm_of
from routing.cli.logged import note_round
from routing.cli.options import AsJson, Folder, Full, On, Seconds, amount_of, clock_of, date_of
from routing.cli.road_bar import ready_roads
from routing.cli.search_shown import SearchShown
from routing.cli.telling import NO, YES, console, say, say_json, told_plainly
from routing.errors import AskedError
from routing.farm.models import Farm
from routing.farm.naming import crew_named, site_named
from routing.output.whole import Filled
from routing.planning.ask.moment import Moment
from routing.planning.ask.own_order import OwnOrder
from routing.planning.day import Wish
from routing.round import Round
from routing.share.exports.files import read_round, round_json
from routing.share.safety.private import share as shared_of
from routing.share.safety.safe import plain_name, plain_text
from routing.share.terminal.terminal import print_broken, print_round
from routing.share.wording.beside import beside_lines
from routing.share.wording.brief import print_brief
from routing.stages import day as pipeline
from routing.stages import write
from routing.words import date_words

commands = typer.Typer(rich_markup_mode=None)


@commands.command("try")
def try_order(
    folder: Folder,
    order: Annotated[
        str,
        typer.Option(
            "--order", help="Sites by id or name in your order, commas between; site:site for a move of hives."
        ),
    ],
    on: On = "tomorrow",
    crew: Annotated[
        str | None, typer.Option("--crew", help="Which crew; where it is not said, one that is out and can.")
    ] = None,
    full: Full = False,
    as_json: AsJson = False,
) -> None:
    """Time and check an order of your own.

    Says first whether it keeps every rule, and what is lost and gained beside the plan that is written for that day.
    Exit code 0 where it keeps every rule, 1 where it does not; what it breaks is told.
    """
    with told_plainly():
        farm = ready_roads(farm_of(folder))
        words = [word.strip() for word in order.split(",") if word.strip()]
        sites = [":".join(site_named(farm, end.strip()) for end in word.split(":")) for word in words]
        named = crew_named(farm, crew) if crew else None
        date = date_of(on, farm)
        tried = pipeline.try_order(farm, date, named, sites)
        if as_json and tried.round is not None:
            say_json(round_json(tried.round))
        else:
            _print_tried(farm, date, tried, _written_plan(folder, date), full=full)
    raise typer.Exit(YES if tried.round is not None else NO)


@commands.command()
def replan(
    folder: Folder,
    at: Annotated[str, typer.Option("--at", help="The time now, HH:MM.")],
    here: Annotated[str, typer.Option("--from", help="Where the crew stands: a site id, base, or a place.")],
    on: On = "today",
    done: Annotated[
        list[str] | None,
        typer.Option("--done", help="A site that is done, site:kind, or site:kind=9 for 9 hives; may be repeated."),
    ] = None,
    on_board: Annotated[
        list[str] | None,
        typer.Option(
            "--on-board",
            help="material=amount on the vehicle; may be repeated. Unsaid: as loaded by the plan, less what is done.",
        ),
    ] = None,
    hives: Annotated[
        list[str] | None, typer.Option("--hives", help="A site whose hives are on the vehicle; may be repeated.")
    ] = None,
    left: Annotated[
        str | None, typer.Option("--left", help="When base was left, HH:MM. Unsaid: as it was planned.")
    ] = None,
    rested: Annotated[bool, typer.Option("--rested", help="The break is had.")] = False,
    crew: Annotated[str | None, typer.Option("--crew", help="Which crew; the first where it is not said.")] = None,
    day_off: Annotated[bool, typer.Option("--day-off", help="The crew is out though it has the day off.")] = False,
    seconds: Seconds = None,
    full: Full = False,
    as_json: AsJson = False,
) -> None:
    """Plan the rest of the day from where you stand.

    What still fits before dark, with what is done and what is on the vehicle, and what is lost or gained beside the
    plan that is written for that day. Written beside it, to "rounds/DATE rest", with the page and the map. Ctrl-C keeps
    the best until then.
    """
    search = SearchShown(seconds)
    with told_plainly(), search.heeded():
        farm = farm_of(folder)
        date, who = date_of(on, farm), crew_named(farm, crew) if crew else farm.crews[0].id
        planned = _written_plan(folder, date)
        moment = Moment(
            at=clock_of(at, "--at"),
            here=here,
            done=done or (),
            on_board=_amounts(on_board),
            left=None if left is None else clock_of(left, "--left"),
            rested=rested,
            hives=hives or (),
            day_off=day_off,
            planned=planned,
        )
        place = folder / "rounds" / f"{date.isoformat()} rest"
        write.may_be_planned_into(place, farm, (date,), write.ground(farm))
        farm = ready_roads(farm)
        with search.shown() as hear:
            rest = pipeline.replan(farm, date, who, moment, wish=Wish(seconds, hear), keep_stopped=True)
        filled = _write_rest(farm, rest, place)
        if rest.proof.stopped:
            typer.echo("Stopped: this is the best round found until then, checked and written.", err=True)
        if as_json:
            say_json(round_json(rest))
        else:
            _print_replanned(rest, who, at, planned, full=full)
            say(f"Written to {place}: {', '.join(path.name for path in filled.paths)}")


def _write_rest(farm: Farm, rest: Round, place: Path) -> Filled:
    """Write the rest of a day with its page and map, so that a report of it is taken."""
    shared = shared_of(rest, farm)
    note_round(farm, rest, shared.round)
    return write.write_round(rest, place, write.ground(farm), shared, write.background(farm, rest))


def _written_plan(folder: Path, date: dt.date) -> Round | None:
    """Return the plan of that day alone that stands in the farm folder; none where there is none that can be read."""
    try:
        planned = read_round(folder / "rounds" / date.isoformat() / "round.json")
    except AskedError:
        return None
    return planned if planned.dates == (date,) else None


def _print_tried(farm: Farm, date: dt.date, tried: OwnOrder, planned: Round | None, *, full: bool) -> None:
    """Print what became of an own order: the answer first, then the order, or what it breaks."""
    yours = f"your order for {date_words(date)}"
    if tried.round is None:
        print_broken(f"NO: {yours} does not keep every rule.", tried.lines, console(), full=full)
        return
    (day,) = tried.round.itineraries
    alone = f"Counted is the order of {plain_name(day.crew_name)} alone, not what other crews would do that day."
    beside = (
        *beside_lines(tried.round, day.crew, planned),
        *tried.lines[1:],
        *((alone,) if len(farm.crews) > 1 else ()),
    )
    show = print_round if full else print_brief
    show(tried.round, console(), title=f"YES: {yours} keeps every rule.", beside=beside)


def _print_replanned(planned: Round, crew: str, at: str, written: Round | None, *, full: bool) -> None:
    """Print the rest of a day: the answer first, with what is lost or gained beside the plan of the morning."""
    title = f"{plain_name(planned.farm)}: the rest of {date_words(planned.dates[0])}, from {plain_text(at)}"
    show = print_round if full else print_brief
    show(planned, console(), title=title, beside=beside_lines(planned, crew, written))


def _amounts(words: list[str] | None) -> dict[str, float] | None:
    return dict(amount_of(word, "--on-board") for word in words) if words else None
