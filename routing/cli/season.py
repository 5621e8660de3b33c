"""The commands of the season's memory: `due` and `feed`, and those of the log."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated

import typer
from typer.core import TyperGroup

from routing.cli.log import Day, Site, has_log_in, log_app
from routing.cli.options import AsJson, Folder, On, console, date_of, farm_of, say_json, told_plainly

__all__ = ["due_app", "feed", "log_app"]

if TYPE_CHECKING:
    from routing.farm.models import Farm
    from routing.season.due import Asked


NO_LOG = (
    "There is no log yet, and jobs.csv has rows: outyard plan takes those alone, and nothing of this list, until "
    "something is logged."
)


class _ListFirst(TyperGroup):
    """A group whose first command, `list`, need not be named: `outyard due FOLDER`."""

    def parse_args(self, ctx: typer.Context, args: list[str]) -> list[str]:  # type: ignore[override]
        if args and args[0] not in {*self.commands, "--help"}:
            args = ["list", *args]
        return super().parse_args(ctx, args)


due_app = typer.Typer(
    help="List what is due, overdue and coming (outyard due FOLDER), or cancel a due date by name.",
    cls=_ListFirst,
    no_args_is_help=True,
    rich_markup_mode=None,
)

Weeks = Annotated[int, typer.Option("--weeks", min=1, max=52, help="How many weeks to look ahead.")]


@due_app.command("list")
def list_due(folder: Folder, on: On = "today", as_json: AsJson = False) -> None:
    """List what is overdue, due and coming at each site, worst first, and what could be done in passing."""
    with told_plainly():
        farm = farm_of(folder)
        from routing.season.checked import suspects  # noqa: PLC0415
        from routing.season.due import due_items  # noqa: PLC0415
        from routing.share.terminal.season_terminal import print_due, print_lines  # noqa: PLC0415

        asked = _asked(farm, date_of(on, farm))
        items = due_items(asked)
        if as_json:
            _print_json([asdict(item) for item in items])
        else:
            rows = [str(told) for told in asked.farm.warnings if told not in farm.warnings]
            print_due(items, farm, asked.on, suspects(asked.record, asked.on), console(), rows)
            if farm.jobs and not has_log_in(folder):
                print_lines((NO_LOG,), console())


@due_app.command("cancel")
def cancel_due(
    folder: Folder,
    rule: Annotated[str, typer.Option("--rule", help="The rule's name, as due lists it in square brackets.")],
    site: Site,
    why: Annotated[str, typer.Option("--why", help="The reason, kept with it.")],
    on: Day = "today",
) -> None:
    """Cancel a due date by name; the next one of the rule still comes. Undo it with outyard log undo."""
    with told_plainly():
        farm = farm_of(folder)
        from routing.season.checked import cancelled  # noqa: PLC0415
        from routing.season.due import due_items  # noqa: PLC0415
        from routing.season.log import Log  # noqa: PLC0415
        from routing.share.terminal.season_terminal import entry_line, print_lines  # noqa: PLC0415

        asked = _asked(farm, date_of(on, farm))
        gone = cancelled(farm, due_items(asked), rule, site, asked.on, why)
        Log.open(folder).cancel(gone)
        print_lines((entry_line(one) for one in gone), console())


def feed(folder: Folder, on: On = "today", weeks: Weeks = 6, as_json: AsJson = False) -> None:
    """Say how long each site's stores last, when it must be fed next, and what to order for the next weeks."""
    with told_plainly():
        farm = farm_of(folder)
        from routing.season.outlook import feed_outlook  # noqa: PLC0415
        from routing.season.shopping import shopping_list  # noqa: PLC0415
        from routing.share.terminal.season_terminal import print_feed  # noqa: PLC0415

        asked = _asked(farm, date_of(on, farm))
        feeds, shopping = feed_outlook(asked, weeks), shopping_list(asked, weeks)
        if as_json:
            _print_json({"sites": [asdict(one) for one in feeds], "shopping": [asdict(one) for one in shopping]})
        else:
            print_feed(feeds, shopping, farm, asked.on, weeks, console())


def _asked(farm: Farm, on: dt.date) -> Asked:
    from routing.stages import day as pipeline  # noqa: PLC0415

    return pipeline.asked(farm, on)


def _print_json(value: object) -> None:
    say_json(json.dumps(value, indent=1, default=str, ensure_ascii=False) + "\n")
