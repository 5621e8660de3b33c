"""The `outyard` command: what commands there are, and the file that holds each.

Every other file here that has `commands` holds a group of them: parse, call a stage, print, choose the exit code;
nothing else. Exit codes: 0 done or yes, 1 no (`fit`, `try`), 2 something in the input must be put right, 3 a fault of
the program itself (see `__main__.py`).
"""

from __future__ import annotations

from typing import ClassVar

import typer

from routing.cli.by_name import ByName, In


class _Whole(ByName):
    TABLE: ClassVar = {
        "open": In("desk", "Open the desk, a page to work in, in the browser; outyard alone does the same."),
        "feed": In(
            "due",
            "Say how long each site's stores last, when it must be fed next, and what to order for the next weeks.",
        ),
        "done": In("done", "Read a helper's report of a round that this farm wrote, and say what was done."),
        "new": In("new", "Write a commented farm folder to start from."),
        "read": In("look", "Read the farm folder and name every problem."),
        "kinds": In("look", "List the job kinds and their sources."),
        "light": In("day", "Print the working light at each site."),
        "fit": In("day", "Answer whether all is done before dark."),
        "plan": In("plan", "Plan, check and write the round of a day or more."),
        "roads": In("day", "Build the farm's road map and say what it covers."),
        "chance": In(
            "chances",
            "Print the chance that each visit, and the day, is done in time, and what to skip when behind.",
        ),
        "learned": In(
            "chances", "Print what past visits and drives teach about minutes, and how far each estimate leans on them."
        ),
        "season": In("season_page", "Write a calendar page of the season."),
        "schema": In("written", "Print the JSON schema of a written round."),
        "explain": In("questions", "Say when one site is visited, or why not and what would save it."),
        "try": In("own", "Time and check an order of your own."),
        "replan": In("own", "Plan the rest of the day from where you stand."),
        "what-if": In("questions", "Plan with something changed, and compare."),
        "compare": In("written", "Say what changed from one written round to another."),
        "share": In(
            "share",
            "Give a checked round away: positions leave the farm folder only in the files that are asked for here.",
        ),
    }

    def parse_args(self, ctx: typer.Context, args: list[str]) -> list[str]:  # type: ignore[override]
        return super().parse_args(ctx, args or ["open"])


class _Log(ByName):
    TABLE: ClassVar = {
        "add": In("log_add", "Write down one job that was done, or an event such as a storm."),
        "begin": In(
            "log",
            "Say from when the log is complete: what was due since and is not in it counts as not done.",
        ),
        "list": In("log", "Print the log, oldest first."),
        "undo": In("log", "Undo what the last command wrote, all of it."),
        "export": In("log_files", "Write the log as a CSV file."),
        "import": In("log_files", "Add the entries of a CSV file: all of them, or none where one has a fault."),
        "erase": In("log", "Erase old entries for good."),
        "mend": In(
            "log_files",
            "Write a clean log in the place of a damaged one, with all that can still be read.",
        ),
    }


class _Due(ByName):
    """A group whose first command, `list`, need not be named: `outyard due FOLDER`."""

    TABLE: ClassVar = {
        "list": In(
            "due",
            "List what is overdue, due and coming at each site, worst first, and what could be done in passing.",
        ),
        "cancel": In("due", "Cancel a due date by name; the next one of the rule still comes."),
    }

    def parse_args(self, ctx: typer.Context, args: list[str]) -> list[str]:  # type: ignore[override]
        if args and args[0] not in {*self.commands, "--help"}:
            args = ["list", *args]
        return super().parse_args(ctx, args)


class _Weather(ByName):
    TABLE: ClassVar = {
        "fetch": In("weather", "Fetch the forecast for base and keep it in the farm folder."),
        "show": In("weather", "Print the forecast that plans are made with, day by day, and its age."),
    }


app = typer.Typer(
    name="outyard",
    cls=_Whole,
    help="Plan the round of a bee farmer's out-apiaries: which sites, in which order, what goes on the van, "
    "and whether it is all done before dark.",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
_GROUPS = (
    ("log", _Log, "Write down what was done, where, how long it took and what was seen; read it again."),
    ("due", _Due, "List what is due, overdue and coming (outyard due FOLDER), or cancel a due date by name."),
    ("weather", _Weather, "Fetch a weather forecast, or show the one that plans are made with."),
)
for _name, _group, _help in _GROUPS:
    app.add_typer(typer.Typer(cls=_group, help=_help, no_args_is_help=True), name=_name)
