"""The commands that ask about a plan: explain one site, try an own order, what if, and round against round."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from routing.cli.options import (
    AsJson,
    Folder,
    On,
    SearchShown,
    Seconds,
    amount_of,
    clock_of,
    console,
    date_of,
    farm_of,
    ready_roads,
    say_json,
    told_plainly,
)
from routing.errors import AskedError

if TYPE_CHECKING:
    from routing.farm.models import Farm
    from routing.planning.ask.own_order import OwnOrder
    from routing.round import Round

Full = Annotated[bool, typer.Option("--full", help="Print everything: notes, weights, reasons, remedies, cautions.")]


def explain(
    folder: Folder, site: Annotated[str, typer.Argument(help="A site, by its id or name.")], on: On = "tomorrow"
) -> None:
    """Say when one site is visited, or why not and what would save it."""
    with told_plainly():
        from routing.farm.naming import site_named  # noqa: PLC0415
        from routing.share.terminal.explain import print_site  # noqa: PLC0415
        from routing.stages import day as pipeline  # noqa: PLC0415

        farm = ready_roads(farm_of(folder))
        named = site_named(farm, site)
        print_site(pipeline.plan(farm, date_of(on, farm)), named, console())


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
        from routing.farm.naming import crew_named, site_named  # noqa: PLC0415
        from routing.share.exports.files import round_json  # noqa: PLC0415
        from routing.stages import day as pipeline  # noqa: PLC0415

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
    raise typer.Exit(0 if tried.round is not None else 1)


def replan(
    folder: Folder,
    at: Annotated[str, typer.Option("--at", help="The time now, HH:MM.")],
    here: Annotated[str, typer.Option("--from", help="Where the crew stands: a site id, base, or a place.")],
    on: On = "today",
    done: Annotated[
        list[str] | None, typer.Option("--done", help="A site that is done, or site:kind; may be repeated.")
    ] = None,
    on_board: Annotated[
        list[str] | None,
        typer.Option("--on-board", help="material=amount on the vehicle; may be repeated. Unsaid: enough of all."),
    ] = None,
    crew: Annotated[str | None, typer.Option("--crew", help="Which crew; the first where it is not said.")] = None,
    seconds: Seconds = None,
    full: Full = False,
    as_json: AsJson = False,
) -> None:
    """Plan the rest of the day from where you stand.

    What still fits before dark, with what is done and what is on the vehicle, and what is lost or gained beside the
    plan that is written for that day. Ctrl-C keeps the best until then.
    """
    search = SearchShown(seconds, "told")
    with told_plainly(), search.heeded():
        from routing.planning.day import Wish  # noqa: PLC0415
        from routing.share.exports.files import round_json  # noqa: PLC0415
        from routing.stages import day as pipeline  # noqa: PLC0415

        farm = ready_roads(farm_of(folder))
        date, who = date_of(on, farm), crew or farm.crews[0].id
        with search.shown() as hear:
            planned = pipeline.replan(
                farm,
                date,
                who,
                at=clock_of(at, "--at"),
                here=here,
                done=done or (),
                on_board=_amounts(on_board),
                wish=Wish(seconds, hear),
                keep_stopped=True,
            )
        if planned.proof.stopped:
            typer.echo("Stopped: this is the best round found until then, and checked.", err=True)
        if as_json:
            say_json(round_json(planned))
        else:
            _print_replanned(planned, who, at, _written_plan(folder, date), full=full)


def what_if(
    folder: Folder,
    on: On = "tomorrow",
    start: Annotated[str | None, typer.Option("--start", help="Loading may begin at, HH:MM.")] = None,
    home_by: Annotated[str | None, typer.Option("--home-by", help="Back at base by, HH:MM.")] = None,
    people: Annotated[
        int | None, typer.Option("--people", max=20, help="So many more people in each crew, e.g. 1.")
    ] = None,
    vehicle: Annotated[str | None, typer.Option("--vehicle", help="Another vehicle for the first crew.")] = None,
    trips: Annotated[
        int | None,
        typer.Option("--trips", min=1, max=6, help="How often each crew may leave base; 1: never back to load again."),
    ] = None,
    without: Annotated[
        list[str] | None, typer.Option("--without", help="Leave out this site; may be repeated.")
    ] = None,
    seconds: Seconds = None,
) -> None:
    """Plan with something changed, and compare.

    Each change alone, then all together, beside the day as it is. The folder is not changed. With --seconds, each of
    these is sought for so long.
    """
    with told_plainly():
        from routing.planning.ask.what_if import Changes  # noqa: PLC0415
        from routing.planning.day import Wish  # noqa: PLC0415
        from routing.share.wording.differences import print_difference, print_table  # noqa: PLC0415
        from routing.stages import day as pipeline  # noqa: PLC0415

        farm = ready_roads(farm_of(folder))
        asked = Changes(
            start=_time(start, "--start"),
            home_by=_time(home_by, "--home-by"),
            people=people,
            vehicle=vehicle,
            trips=trips,
            without=tuple(dict.fromkeys(without or ())),
        )
        rows = pipeline.what_if(farm, date_of(on, farm), asked, Wish(seconds))
        if len(rows) == 1:
            raise AskedError("say what to change: --start, --home-by, --people, --vehicle, --trips or --without")
        print_table(rows, console())
        print_difference(rows[0][1], rows[-1][1], console())


def compare(
    old: Annotated[Path, typer.Argument(help="A round.json.")], new: Annotated[Path, typer.Argument(help="Another.")]
) -> None:
    """Say what changed from one written round to another."""
    with told_plainly():
        from routing.share.exports.files import read_round  # noqa: PLC0415
        from routing.share.wording.differences import print_difference  # noqa: PLC0415

        print_difference(read_round(old), read_round(new), console())


def _written_plan(folder: Path, date: dt.date) -> Round | None:
    """Return the plan of that day alone that stands in the farm folder; none where there is none that can be read."""
    from routing.share.exports.files import read_round  # noqa: PLC0415

    try:
        planned = read_round(folder / "rounds" / date.isoformat() / "round.json")
    except AskedError:
        return None
    return planned if planned.dates == (date,) else None


def _print_tried(farm: Farm, date: dt.date, tried: OwnOrder, planned: Round | None, *, full: bool) -> None:
    """Print what became of an own order: the answer first, then the order, or what it breaks."""
    from routing.share.safety.safe import plain_name  # noqa: PLC0415
    from routing.share.terminal.terminal import print_broken, print_round  # noqa: PLC0415
    from routing.share.wording.beside import beside_lines  # noqa: PLC0415
    from routing.share.wording.brief import print_brief  # noqa: PLC0415
    from routing.words import date_words  # noqa: PLC0415

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
    from routing.share.safety.safe import plain_name, plain_text  # noqa: PLC0415
    from routing.share.terminal.terminal import print_round  # noqa: PLC0415
    from routing.share.wording.beside import beside_lines  # noqa: PLC0415
    from routing.share.wording.brief import print_brief  # noqa: PLC0415
    from routing.words import date_words  # noqa: PLC0415

    title = f"{plain_name(planned.farm)}: the rest of {date_words(planned.dates[0])}, from {plain_text(at)}"
    show = print_round if full else print_brief
    show(planned, console(), title=title, beside=beside_lines(planned, crew, written))


def _amounts(words: list[str] | None) -> dict[str, float] | None:
    return dict(amount_of(word, "--on-board") for word in words) if words else None


def _time(text: str | None, option: str) -> dt.time | None:
    return None if text is None else clock_of(text, option)
