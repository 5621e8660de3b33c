"""A search by the clock, and Ctrl-C: the best round until then is checked and written, a second press writes nothing."""

from __future__ import annotations

import datetime as dt
import importlib
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from typer.testing import CliRunner

from routing.cli.app import app
from routing.cli.search_shown import SearchShown
from routing.farm.folder import read_farm
from routing.planning import ahead
from routing.planning import plan as day
from routing.planning.model.problem import rank_score, served
from routing.planning.plan import SoFar, Wish
from routing.planning.search.preselection import most_weight
from routing.planning.search.solve import solve
from routing.round import Round
from routing.stages import plan as plan_stage
from tests.planning.random_problems import PressesCtrlC, key, random_problem

EXAMPLE = Path(__file__).parents[1] / "examples" / "four-sites"
JUNE = "2026-06-10"

FARM = """
name = "Many sites"
time_zone = "Europe/London"
[base]
name = "Yard"
place = "52.3, -2.5"
[[vehicle]]
id = "van"
name = "Van"
payload_kg = 600
space_litres = 3000
[[crew]]
id = "one"
name = "One"
people = 1
vehicle = "van"
earliest_start = "08:00"
home_by = "17:00"
"""


def many_sites(folder: Path, sites: int) -> Path:
    """Write a farm of so many sites, drawn from a seed, with a job at each and far more than a day's work."""
    dice = random.Random(5)
    folder.mkdir()
    (folder / "farm.toml").write_text(FARM, encoding="utf-8")
    places = [
        f's{n},Site {n},"{52.3 + dice.uniform(-0.3, 0.3):.4f}, {-2.5 + dice.uniform(-0.4, 0.4):.4f}",8'
        for n in range(sites)
    ]
    (folder / "sites.csv").write_text("\n".join(["id,name,place,hives", *places]), encoding="utf-8")
    jobs = [f"s{n},fondant,{dice.choice(['must', 'want'])}" for n in range(sites)]
    (folder / "jobs.csv").write_text("\n".join(["site,kind,rank", *jobs]), encoding="utf-8")
    return folder


def interrupted(*words: str) -> tuple[int, str]:
    """Run the command under a terminal, press Ctrl-C when progress shows; return exit code and standard error."""
    pty = pytest.importorskip("pty")
    screen, inside = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-m", "routing", *words], stdout=subprocess.DEVNULL, stderr=inside, stdin=subprocess.DEVNULL
    ) as command:
        os.close(inside)
        shown, pressed = b"", False
        while True:
            try:
                more = os.read(screen, 4096)
            except OSError:  # the end of a terminal
                more = b""
            if not more:
                break
            shown += more
            if not pressed and b"Best so far: " in shown:
                command.send_signal(signal.SIGINT)
                pressed = True
        os.close(screen)
        return command.wait(), shown.decode()


@pytest.mark.clock
@pytest.mark.parametrize(("sites", "days"), [(60, 3), (40, 1)], ids=["engines", "one exact day"])
def test_ctrl_c_writes_the_best_checked_round_until_then(tmp_path: Path, sites: int, days: int) -> None:
    """Both where engines search several days, and where one solver holds the process for one day."""
    folder, out = many_sites(tmp_path / "farm", sites), tmp_path / "out"
    words = ("--on", JUNE, "--days", str(days), "--seconds", "600", "--out", str(out))
    code, told = interrupted("plan", str(folder), *words)
    assert code == 0
    assert "Stopped: this is the best round found until then" in told
    written = plan_stage.saved(read_farm(folder), (out / "round.json").read_text(encoding="utf-8"))
    assert written.itineraries
    assert written.proof.stopped
    assert not written.proof.optimal
    assert "stopped before its end" in written.proof.text


def run(*words: object) -> tuple[int, str, str]:
    result = CliRunner().invoke(app, [str(word) for word in words])
    return result.exit_code, result.stdout, result.stderr


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return shutil.copytree(EXAMPLE, tmp_path / "farm", ignore=shutil.ignore_patterns("rounds"))


@pytest.mark.clock
@pytest.mark.parametrize("presses", [1, 2])
def test_ctrl_c_before_there_is_an_order_and_a_second_one_write_nothing(
    folder: Path, presses: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first comes before the search, or is kept by the search and a second follows."""

    def press(*_anything: object) -> None:
        if presses == 2:
            with pytest.raises(KeyboardInterrupt):
                signal.raise_signal(signal.SIGINT)
        signal.raise_signal(signal.SIGINT)

    before = signal.getsignal(signal.SIGINT)
    monkeypatch.setattr(day, "certain_reasons", press)
    code, printed, _ = run("plan", folder, "--on", JUNE)
    assert code == 130
    assert "Written" not in printed
    assert not (folder / "rounds").exists()
    assert signal.getsignal(signal.SIGINT) is before


@pytest.mark.clock
def test_ctrl_c_while_remedies_are_sought_keeps_the_round(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With 12:00 as home-by one site has no room; its entry then has no remedies, and the proof still stands."""
    settings = folder / "farm.toml"
    settings.write_text(settings.read_text(encoding="utf-8").replace('home_by = "13:00"', 'home_by = "12:00"'))

    def press(*_anything: object) -> None:
        signal.raise_signal(signal.SIGINT)

    monkeypatch.setattr("routing.planning.explain.outcome.remedies", press)
    code, _, told = run("plan", folder, "--on", JUNE)
    assert code == 0
    assert "Stopped" in told
    written = Round.model_validate_json((folder / "rounds" / JUNE / "round.json").read_text(encoding="utf-8"))
    assert [left.site for left in written.left_out] == ["D"]
    assert written.left_out[0].remedies == ()
    assert written.proof.optimal
    assert written.proof.stopped


def test_other_commands_still_end_at_ctrl_c(monkeypatch: pytest.MonkeyPatch) -> None:
    """A table of what-ifs, or a round to give away, made of half a search would mislead."""

    def press(*_anything: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(ahead, "clash_words", press)  # asked for, since one hour holds only one of the musts
    farm, date = read_farm(EXAMPLE), dt.date(2026, 6, 10)
    short = farm.model_copy(update={"crews": (farm.crews[0].model_copy(update={"home_by": dt.time(10, 20)}),)})
    with pytest.raises(KeyboardInterrupt):
        plan_stage.plan(short, date)
    assert plan_stage.plan(short, date, keep_stopped=True).proof.stopped


@pytest.mark.parametrize("visits", [7, 45])
def test_one_day_keeps_what_it_has_at_ctrl_c_and_claims_no_more_than_sums_do(visits: int) -> None:
    """Whether its own construction or the engines began."""
    problem = random_problem(3, visits=visits)
    tasks = frozenset(range(len(problem.tasks)))
    press = PressesCtrlC()
    solution = solve(problem, tasks, work=5, progress=press)
    assert solution.interrupted
    assert not solution.proven
    assert not solution.days_proven
    assert solution.rank_bounds == tuple(map(min, rank_score(problem, tasks), most_weight(problem, tasks)))
    assert rank_score(problem, served(solution.orders)) >= rank_score(problem, served(press.told[-1]))
    assert key(problem, solution.orders) is not None


@pytest.mark.clock
def test_progress_tells_jobs_and_hours_of_the_round_that_comes(folder: Path) -> None:
    """The last word on two days is what the round then is."""
    told: list[SoFar] = []
    dates = (dt.date(2026, 6, 10), dt.date(2026, 6, 11))
    planned = plan_stage.plan(read_farm(folder), *dates, wish=Wish(seconds=1, progress=told.append))
    assert planned.all_done
    assert not planned.proof.stopped
    last = told[-1]
    assert (last.jobs, last.of) == (4, 4)
    assert last.away_seconds == sum(itinerary.away_seconds for itinerary in planned.itineraries)


@pytest.mark.clock
def test_the_line_says_what_a_farmer_wants_to_know() -> None:
    shown = SearchShown(30)
    assert shown.line() == "Searching; 0 of 30 s"
    shown.hear(SoFar(1, 1, 3700))
    assert shown.line() == "Best so far: 1 of 1 job done, 1 h 02 away; 0 of 30 s"
    shown.hear(SoFar(7, 9, 36000, 18000))
    assert shown.line() == "Best so far: 7 of 9 jobs done, 10 h 00 away, longest day 5 h 00; 0 of 30 s"
    with pytest.raises(KeyboardInterrupt):
        shown.stop(signal.SIGINT, None)
    assert shown.line().startswith("Stopping")


PRESSED = """
import signal
{presses}
LOADED = True
"""


@pytest.mark.clock
@pytest.mark.parametrize(("presses", "raised"), [(1, KeyboardInterrupt), (2, SystemExit)])
def test_ctrl_c_during_an_import_waits_until_it_is_over_and_a_second_one_does_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, presses: int, raised: type[BaseException]
) -> None:
    """A library in C that is broken off while it loads raises ImportError, and cannot be loaded again."""
    press = "signal.raise_signal(signal.SIGINT)\n"
    (tmp_path / "pressed.py").write_text(PRESSED.format(presses=press * presses), encoding="utf-8")
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.delitem(sys.modules, "pressed", raising=False)
    with SearchShown(30).heeded(), pytest.raises(raised):  # noqa: PT012 - it may come anywhere after the import
        assert importlib.import_module("pressed").LOADED
        for _ in range(300):
            time.sleep(
                0.1
            )  # one long sleep would be ended by a signal alone, and what is heard again comes from a thread
    assert ("pressed" in sys.modules) == (presses == 1)


@pytest.mark.clock
def test_no_progress_is_written_where_there_is_no_terminal(folder: Path) -> None:
    code, _, told = run("plan", folder, "--on", JUNE, "--seconds", "1")
    assert code == 0
    assert told == ""


@pytest.mark.parametrize("words", [("--seconds", "0"), ("--seconds", "nan"), ("--seconds", "5", "--sure", "0.9")])
def test_seconds_that_cannot_be_are_told_plainly(folder: Path, words: tuple[str, ...]) -> None:
    code, _, told = run("plan", folder, "--on", JUNE, *words)
    assert code == 2
    assert "--seconds" in told
    assert not (folder / "rounds").exists()
