"""What the commands share: arguments, reading the farm and the date, and telling errors plainly."""

from __future__ import annotations

import _thread
import datetime as dt
import io
import json
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from routing.errors import AskedError, CheckFailed, FarmError, OutyardError, WriteError
from routing.farm.faults import quoted
from routing.farm.inert import inert, inert_json

if TYPE_CHECKING:
    from types import FrameType

    from rich.console import Console

    from routing.farm.models import Farm
    from routing.output.whole import Filled
    from routing.planning.day import SoFar
    from routing.round import Round
    from routing.season.entries import SetAside

YES, NO, BAD_INPUT, OUR_FAULT = 0, 1, 2, 3
STOPPED = 130
"""What a shell expects of a command that Ctrl-C ended."""

MOST_TOLD = 20
"""So many rows of a log that are set aside are told one by one."""
MOST_UNITS = 1_000_000.0
"""More of a material than this is taken for a slip of the finger."""

HELD_SECONDS = 0.02
"""How long a Ctrl-C that came during an import waits before it is looked at again."""

Folder = Annotated[Path, typer.Argument(help="The farm folder: farm.toml, sites.csv, jobs.csv, and drives.csv if any.")]
On = Annotated[str, typer.Option("--on", help="The date: YYYY-MM-DD, today or tomorrow, in the farm's time zone.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]
WithPrivate = Annotated[
    bool, typer.Option("--with-private", help="Put gate codes, phones and private notes into the crews' pages.")
]
LONGEST_SEARCH_SECONDS = 24 * 3600
Seconds = Annotated[
    int | None,
    typer.Option(
        "--seconds",
        min=1,
        max=LONGEST_SEARCH_SECONDS,
        help="Search for so long by the clock; the answer then depends on the computer.",
    ),
]
Replace = Annotated[
    bool,
    typer.Option("--replace", help="Replace files in the way too that outyard did not write or you changed since."),
]
Nicknames = Annotated[bool, typer.Option("--nicknames", help="Call the sites Site A, Site B in the crews' pages.")]


def farm_of(folder: Path) -> Farm:
    """Return the farm with its forecast and the minutes that its record teaches, warnings told. Raises FarmError."""
    from routing.season.record_tables import has_records  # noqa: PLC0415

    farm = farm_as_written(folder)
    if not has_records(folder) and not (folder / "log.sqlite").exists():
        return farm
    from routing.stages.chance import as_recorded  # noqa: PLC0415

    tell_log(folder)
    return as_recorded(farm)


def farm_with_log(folder: Path) -> Farm:
    """Return the farm as it is written, for what reads the log itself; rows that the log sets aside are told."""
    farm = farm_as_written(folder)
    tell_log(folder)
    return farm


def note_round(farm: Farm, round_: Round, shown: Round) -> None:
    """Write down that a round goes out as its pages show it; where that cannot be, say what it means and go on."""
    from routing.stages.reports import remember_round  # noqa: PLC0415 - it brings a database along

    try:
        remember_round(farm, round_, shown)
    except WriteError as error:
        say(f"warning: {error}", err=True)


def tell_log(folder: Path) -> None:
    """Tell on standard error which rows of the folder's log are set aside. Raises LogError."""
    if (folder / "log.sqlite").exists():
        from routing.season.log import Log  # noqa: PLC0415 - it brings a database along

        tell_set_aside(Log.record_of(folder).set_aside)


def tell_set_aside(rows: Sequence[SetAside]) -> None:
    """Tell on standard error which rows of a log count for nothing, and what to do."""
    for row in rows[:MOST_TOLD]:
        say(f"warning: log.sqlite: {row}; it is set aside and counts for nothing", err=True)
    if rows:
        more = f"{len(rows) - MOST_TOLD} more rows are set aside; " if len(rows) > MOST_TOLD else ""
        typer.echo(
            f"warning: log.sqlite: {more}outyard log mend FOLDER writes a clean log and keeps this one", err=True
        )


def farm_as_written(folder: Path) -> Farm:
    """Return the farm as it is written, with its forecast, its warnings told on standard error. Raises FarmError."""
    from routing.farm.folder import read_farm  # noqa: PLC0415
    from routing.weather.forecasts import with_forecast  # noqa: PLC0415

    farm = with_forecast(read_farm(folder))
    for warning in farm.warnings:
        say(f"warning: {warning}", err=True)
    return farm


def ready_roads(farm: Farm) -> Farm:
    """Return the farm, its road map built where it must be, with a progress bar on stderr. Raises RoadError."""
    if farm.road_map is None:
        return farm
    from rich.console import Console  # noqa: PLC0415
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn  # noqa: PLC0415

    from routing.stages import day as pipeline  # noqa: PLC0415

    columns = (TextColumn("{task.description}", markup=False), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        bar = shown.add_task("Road map", total=1.0, visible=False)
        pipeline.ready_roads(
            farm, lambda words, share: shown.update(bar, description=words, completed=share, visible=True)
        )
    return farm


class SearchShown:
    """One line on standard error, where that is a terminal: the best round so far, and how long it has been sought.

    The first Ctrl-C raises KeyboardInterrupt and the line says what comes of it; a second ends the program at once.
    While a module is being imported the first one waits: libraries in C make another error of it, and stay half loaded.
    """

    def __init__(self, seconds: int | None, then: str = "written") -> None:
        """`then` is what becomes of the best round after Ctrl-C."""
        self.seconds, self.begun, self.best, self.stopping = seconds, time.monotonic(), "", False
        self._once_more, self._again = False, threading.Timer(HELD_SECONDS, self._stop_again)
        self.then = then

    def hear(self, so_far: SoFar) -> None:
        """Show better orders from now on."""
        from routing.words import count, duration  # noqa: PLC0415

        longest = f", longest day {duration(so_far.longest_seconds)}" if so_far.longest_seconds else ""
        self.best = f"{so_far.jobs} of {count(so_far.of, 'job')} done, {duration(so_far.away_seconds)} away{longest}"

    def line(self) -> str:
        """Return what is shown now."""
        if self.stopping:
            return f"Stopping: the best until now is checked and {self.then}; Ctrl-C again drops it"
        gone = int(time.monotonic() - self.begun)
        of = "" if self.seconds is None else f" of {self.seconds}"
        return f"Best so far: {self.best}; {gone}{of} s" if self.best else f"Searching; {gone}{of} s"

    def stop(self, _signal: int, frame: FrameType | None) -> None:
        """Hear Ctrl-C, or hear once more of one that came during an import."""
        if self.stopping and not self._once_more:
            raise SystemExit(STOPPED)
        self.stopping, self._once_more = True, False
        if not _importing(frame):
            raise KeyboardInterrupt
        self._again = threading.Timer(HELD_SECONDS, self._stop_again)
        self._again.daemon = True
        self._again.start()

    def _stop_again(self) -> None:
        self._once_more = True
        _thread.interrupt_main()

    @contextmanager
    def heeded(self) -> Iterator[None]:
        """Heed Ctrl-C until the end of the block."""
        if threading.current_thread() is not threading.main_thread():
            yield
            return
        before = signal.signal(signal.SIGINT, self.stop)
        try:
            yield
        finally:
            self._again.cancel()
            signal.signal(signal.SIGINT, before)

    @contextmanager
    def shown(self) -> Iterator[Callable[[SoFar], None]]:
        """Show the line until the end of the block, then wipe it off."""
        from rich.console import Console  # noqa: PLC0415
        from rich.live import Live  # noqa: PLC0415
        from rich.text import Text  # noqa: PLC0415

        errors = Console(stderr=True)
        if not errors.is_terminal:
            yield self.hear
            return
        with Live(
            get_renderable=lambda: Text(self.line(), no_wrap=True, overflow="ellipsis"),
            console=errors,
            transient=True,
            redirect_stdout=False,
            redirect_stderr=False,
        ):
            yield self.hear


def _importing(frame: FrameType | None) -> bool:
    """Return whether a module is being imported where this frame runs."""
    while frame is not None:
        if frame.f_globals.get("__name__") == "importlib._bootstrap":
            return True
        frame = frame.f_back
    return False


def date_of(text: str, farm: Farm, option: str = "--on") -> dt.date:
    """Return the date that was asked for, or that an option of another name gives. Raises AskedError."""
    from zoneinfo import ZoneInfo  # noqa: PLC0415

    today = dt.datetime.now(ZoneInfo(farm.time_zone)).date()
    words = {"today": today, "tomorrow": today + dt.timedelta(days=1)}
    if text in words:
        return words[text]
    try:
        date = dt.date.fromisoformat(text)
    except ValueError:
        date = _date_in_words(text, farm, option)
    if not dt.date(1900, 1, 1) <= date <= dt.date(2199, 12, 31):
        raise AskedError(f"{option} {quoted(text)} is not a date; write YYYY-MM-DD (1900 to 2199), today or tomorrow")
    return date


def _date_in_words(text: str, farm: Farm, option: str) -> dt.date:
    """Return a date in the forms of the farm's country, the least date where it is none. Raises AskedError in doubt."""
    from routing.farm.unfit import DoubtfulError, UnfitError  # noqa: PLC0415
    from routing.farm.ways import ways_of  # noqa: PLC0415
    from routing.farm.written import date_written  # noqa: PLC0415

    try:
        return date_written(text, ways_of(farm.time_zone))
    except DoubtfulError as error:
        raise AskedError(f"{option} {quoted(text)} {error}") from None
    except UnfitError:
        return dt.date.min


def clock_of(text: str, option: str) -> dt.time:
    """Return the time of day that an option gives, in the farm's time zone. Raises AskedError."""
    from routing.farm.values import UnfitError, clock  # noqa: PLC0415

    try:
        return clock(text)
    except UnfitError:
        raise AskedError(f"{option} {quoted(text)} is not a time of day; write HH:MM, 00:00 to 23:59") from None


def amount_of(text: str, option: str) -> tuple[str, float]:
    """Return the material and how much of it that an option such as `fondant=12.5` gives. Raises AskedError."""
    from routing.farm.values import UnfitError, number  # noqa: PLC0415

    material, sign, amount = text.partition("=")
    if not sign or not material.strip():
        raise AskedError(f"{option} {quoted(text)} is not a material and an amount: write fondant=12.5")
    try:
        return material.strip(), number(0, MOST_UNITS)(amount.strip())
    except UnfitError as error:
        raise AskedError(f"{option} {quoted(text)}: the amount {error}; write fondant=12.5") from None


def say(text: object, *, err: bool = False) -> None:
    """Print lines, on standard error where `err` says so, with nothing in them that acts on a screen."""
    _forgive(sys.stderr if err else sys.stdout)
    typer.echo(inert(str(text)), err=err)


def say_json(text: str) -> None:
    """Print a JSON document that means the same on any screen, and in whatever encoding is expected here."""
    shown = inert_json(text)
    try:
        shown.encode(sys.stdout.encoding or "utf-8")
    except UnicodeEncodeError:
        shown = json.dumps(json.loads(text), indent=1) + "\n"
    sys.stdout.write(shown)


def console() -> Console:
    """Return where results are printed."""
    from rich.console import Console  # noqa: PLC0415

    _forgive(sys.stdout)
    return Console(highlight=False)


def tell_paths(paths: Iterable[Path], before: str = "") -> None:
    """Say what was written, a line each, safe on any screen."""
    for path in paths:
        say(f"{before}{path}")


def tell_removed(filled: Filled) -> None:
    """Say on standard error which pages went with a new round, and which did not because the farmer changed them."""
    for name in filled.removed:
        say(f"Removed: {name}, a page of the round that stood there before", err=True)
    for name in filled.left:
        say(f"note: {name} there is of another round; it was changed since outyard wrote it, and stays", err=True)


def _forgive(stream: object) -> None:
    """Let a name never stop a print on an old terminal."""
    if isinstance(stream, io.TextIOWrapper) and stream.errors == "strict":
        stream.reconfigure(errors="replace")


@contextmanager
def told_plainly() -> Iterator[None]:
    """Turn what went wrong into one line each on stderr and the fitting exit code."""
    try:
        yield
    except FarmError as error:
        for fault in error.faults:
            say(f"{'warning: ' if fault.warning else ''}{fault}", err=True)
        raise typer.Exit(BAD_INPUT) from None
    except CheckFailed as error:
        say(f"{error}\nThis is a fault of the program, not of your folder; nothing was written.", err=True)
        raise typer.Exit(OUR_FAULT) from None
    except OutyardError as error:
        say(str(error), err=True)
        raise typer.Exit(BAD_INPUT) from None
