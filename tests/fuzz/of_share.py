"""The targets `report` and `round`: what a helper sends back, and a round that is read again and shared."""

from __future__ import annotations

import datetime as dt
import io
import json
import sqlite3
from functools import cache
from pathlib import Path

from rich.console import Console

from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.round import Round
from routing.share.exports.files import read_round, round_json
from routing.share.report.done_file import read_done_file
from routing.stages import plan as plan_stage
from tests.fuzz import small_farm
from tests.fuzz.commands import ran
from tests.fuzz.inputs import Files
from tests.fuzz.mutate import lines_changed, tree_changed
from tests.fuzz.outcome import UNSEEN, PromiseBrokenError
from tests.fuzz.target import Target, scratch, written

PARTS_OF_ROUND = ("round/stops.py", "round/left_out.py", "round/quality.py", "round/round.py", "round/fit.py")
LOGGED = "Written to the log:"


@cache
def farm() -> Farm:
    """Return the farm of four sites."""
    return read_farm(written(small_farm.example(), scratch()))


@cache
def good_round() -> Round:
    """Return its round of a day in June."""
    return plan_stage.plan(farm(), dt.date.fromisoformat(small_farm.DAY))


def report_target() -> Target:
    """Return the target of a helper's report: read, shown, and written into a log, twice; by the command itself.

    The round that it is of was written by the command too, so that the farm knows it.
    """
    folder = scratch()
    (folder / "F").mkdir()
    written(small_farm.without_rules(), folder / "F")
    ran(("plan", "F", "--on", small_farm.DAY), folder)
    ran(("log", "begin", "F", "--counts-from", "2026-01-01"), folder)
    begun = _whole(folder / "F" / "log.sqlite")

    def run(files: Files) -> None:
        (folder / "report.txt").write_bytes(files.get("report.txt", b""))
        read_done_file(folder / "report.txt")  # what is no report goes no further: the command takes ten times as long
        for name in ("log.sqlite-wal", "log.sqlite-shm"):
            (folder / "F" / name).unlink(missing_ok=True)
        (folder / "F" / "log.sqlite").write_bytes(begun)
        logged = LOGGED in ran(("done", "F", "report.txt", "--log"), folder)
        if logged and f"{LOGGED} 0 new" not in ran(("done", "F", "report.txt", "--log"), folder):
            raise PromiseBrokenError("logged twice: the same report was written into the log again")

    return Target(
        "report",
        {"report.txt": lines_changed},
        ({"report.txt": good_report()},),
        run,
        ("share/report/done.py", "share/report/done_details.py"),
    )


def _whole(path: Path) -> bytes:
    """Return a log as one file, without one beside it."""
    with sqlite3.connect(path) as plain:
        plain.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        plain.execute("PRAGMA journal_mode = DELETE")
    return path.read_bytes()


def good_report() -> bytes:
    """Return what a helper sends of that round: a job done in part, one done, the others left."""
    from routing.share.wording.helper_sheet import round_key  # noqa: PLC0415

    day = good_round().itineraries[0]
    lines = ["what-i-did: 1", f"round: {round_key(day)}", f"crew: {day.crew}", f"date: {day.date}"]
    lines += [f"sent: {day.date}T16:02:11Z", "# for people", ""]
    jobs = [(stop, job) for stop in day.stops for job in stop.jobs]
    for number, (stop, job) in enumerate(jobs):
        lines.append(f"site: {stop.site}")
        if number == 0:
            lines += [f"part: {day.date}T09:14:05Z {job.id}", f"kind: {job.kind}", f"hives: 2 of {job.hives}"]
        elif number == 1:
            lines += [
                f"done: {day.date}T10:14:05Z {job.id}",
                "used: 12.5 fondant",
                "stores: 9.5",
                "note: Gate locked",
                "again",
            ]
        else:
            lines.append(f"left: {job.id}")
    return "\n".join([*lines, "", f"end: 1 done, {len(jobs) - 1} left", ""]).encode()


def round_target() -> Target:
    """Return the target of round.json: checked against the farm, compared, and what still holds shared in every form."""
    folder = scratch()

    def run(files: Files) -> None:
        path = written(files, folder) / "round.json"
        compared = read_round(path) if path.exists() else good_round()
        from routing.share.wording.differences import print_difference  # noqa: PLC0415

        out = io.StringIO()
        print_difference(good_round(), compared, Console(file=out, highlight=False, width=100))
        _clean(out.getvalue())
        shared(plan_stage.saved(farm(), path.read_bytes().decode("utf-8", "replace") if path.exists() else ""))

    return Target("round", {"round.json": tree_changed}, ({"round.json": _small_json()},), run, PARTS_OF_ROUND)


def shared(round_: Round) -> None:
    """Make every text of a round that can be shared, and what its pages are made of."""
    from routing.share.exports.csv_table import round_csv  # noqa: PLC0415
    from routing.share.exports.geojson import round_geojson  # noqa: PLC0415
    from routing.share.exports.gpx import round_gpx  # noqa: PLC0415
    from routing.share.exports.ical import round_calendar  # noqa: PLC0415
    from routing.share.exports.markdown import round_markdown  # noqa: PLC0415
    from routing.share.wording.sheet import round_sheet  # noqa: PLC0415

    for make in (round_csv, round_geojson, round_gpx, round_calendar, round_markdown, round_sheet):
        make(round_)


def _small_json() -> bytes:
    return json.dumps(json.loads(round_json(good_round()))).encode()


def _clean(printed: str) -> None:
    if bad := UNSEEN & set(printed):
        raise PromiseBrokenError(f"unclean print: what is printed holds {min(bad)!r}")
