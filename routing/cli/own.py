"""The commands of who decides alone: try an order of your own, plan the rest of the day from where you stand."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from routing import stages
from routing.cli.farms import farm_of
from routing.cli.options import AsJson, Folder, Full, On, Seconds, amount_of, clock_of, date_of
from routing.cli.road_bar import ready_roads
from routing.cli.search_shown import SearchShown
from routing.cli.telling import NO, YES, console, say, say_json, tell_forgotten, tell_stopped, told_plainly
from routing.plain_words import date_words
from routing.share import exports, terminal
from routing.share.safety.safe import plain_name, plain_text

if TYPE_CHECKING:
    from routing.farm.models import Farm
    from routing.planning.ask.own_order import OwnOrder
    from routing.round import Round

commands = typer.Typer(rich_markup_mode=None)

OnBoard = Annotated[
    list[str] | None,
    typer.Option(
        "--on-board",
        help="material=amount on the vehicle; may be repeated. Unsaid: as loaded by the plan, less what is done.",
    ),
]


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
        sites, named = stages.ask.order_named(farm, words, crew)
        date = date_of(on, farm)
        with SearchShown(None).shown():
            tried = stages.ask.try_order(farm, date, named, sites)
        if as_json and tried.round is not None:
            say_json(exports.round_json(tried.round))
        else:
            _print_tried(farm, date, tried, stages.written.written_plan(farm, date), full=full)
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
    on_board: OnBoard = None,
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
    plan that is written for that day. Written beside it, to "rounds/DATE rest", with the page and the map. Where it is
    best to come back to base once for more, what follows is a plan of its own, in "rounds/DATE rest from base". Ctrl-C
    keeps the best until then.
    """
    search = SearchShown(seconds)
    with told_plainly(), search.heeded():
        farm = farm_of(folder)
        date, who = date_of(on, farm), stages.ask.order_named(farm, (), crew)[1] or farm.crews[0].id
        planned = stages.written.written_plan(farm, date)
        moment = stages.ask.Moment(
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
        places = [folder / "rounds" / f"{date} {name}" for name in ("rest", "rest from base")]
        for where in places:
            stages.write.may_be_planned_into(where, farm, (date,), stages.write.ground(farm))
        farm = ready_roads(farm)
        with search.shown() as hear:
            rounds = stages.ask.rest(farm, date, who, moment, wish=stages.plan.Wish(seconds, hear), keep_stopped=True)
        begins = [at, *(f"{rest.itineraries[0].leave:%H:%M}" for rest in rounds[1:])]
        for number, rest in enumerate(rounds):
            written = _written(farm, rest, places[number])
            if not as_json:
                _print_replanned(rounds[number:], rounds[:number], who, begins[number], planned, full=full)
                say(f"Written to {places[number]}: {', '.join(path.name for path in written)}")
        if as_json:
            say_json(exports.round_json(rounds[0]) if len(rounds) == 1 else _joined(rounds))


def _written(farm: Farm, rest: Round, place: Path) -> Sequence[Path]:
    """Write the rest of the day and return its files; what could not be remembered, and a search stopped, is told."""
    written = stages.write.write_plan(farm, rest, place)
    tell_forgotten(written.forgotten)
    tell_stopped(stopped=rest.proof.stopped)
    return written.filled.paths


def _print_tried(farm: Farm, date: dt.date, tried: OwnOrder, planned: Round | None, *, full: bool) -> None:
    """Print what became of an own order: the answer first, then the order, or what it breaks."""
    yours = f"your order for {date_words(date)}"
    if tried.round is None:
        terminal.print_broken(f"NO: {yours} does not keep every rule.", tried.lines, console(), full=full)
        return
    (day,) = tried.round.itineraries
    alone = f"Counted is the order of {plain_name(day.crew_name)} alone, not what other crews would do that day."
    beside = (
        *terminal.beside_lines(tried.round, day.crew, planned),
        *tried.lines[1:],
        *((alone,) if len(farm.crews) > 1 else ()),
    )
    show = terminal.print_round if full else terminal.print_brief
    show(tried.round, console(), title=f"YES: {yours} keeps every rule.", beside=beside)


def _print_replanned(
    rounds: Sequence[Round], before: Sequence[Round], crew: str, begins: str, written: Round | None, *, full: bool
) -> None:
    """Print a round of the rest of a day, the first of `rounds`: with what follows from base, or with what is lost."""
    rest, later = rounds[0], rounds[1:]
    title = f"{plain_name(rest.farm)}: the rest of {date_words(rest.dates[0])}, from {plain_text(begins)}"
    show = terminal.print_round if full else terminal.print_brief
    beside: tuple[str, ...]
    if later:
        (day,) = later[0].itineraries
        loads = ", ".join(f"{plain_name(item.name)} {item.amount:g} {plain_text(item.unit)}" for item in day.load.out)
        beside = (
            f"Then load at base until this is on board: {loads}. Leave by {day.leave:%H:%M}; what follows is below.",
        )
    else:
        whole = (*rest.itineraries, *(day for one in before for day in one.itineraries))
        beside = terminal.beside_lines(rest.model_copy(update={"itineraries": whole}), crew, written)
    show(rest, console(), title=title, beside=beside)


def _joined(rounds: Sequence[Round]) -> str:
    """Return the rounds until base and from base on as one document: a list."""
    return f"[{', '.join(exports.round_json(each).strip() for each in rounds)}]"


def _amounts(words: list[str] | None) -> dict[str, float] | None:
    return dict(amount_of(word, "--on-board") for word in words) if words else None
