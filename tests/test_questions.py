"""Asking about a plan: one site, an own order, what if, and round against round (four sites, pencil and paper)."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from routing.check import broken_promises
from routing.cli.app import app
from routing.errors import AskedError
from routing.farm.folder import read_farm
from routing.farm.models import Rank
from routing.planning.ask.moment import Moment
from routing.planning.ask.what_if import Changes, changed
from routing.planning.model.build_instance import build_instance
from routing.planning.plan import plan_days
from routing.share.wording.differences import difference
from routing.stages import ask as ask_stage
from routing.travel.farm import farm_legs
from tests.returning_farm import JOBS, SITES, SUMMER, legs_of, returning_farm
from tests.split_jobs import split_jobs

EXAMPLE = Path(__file__).parents[1] / "examples" / "four-sites"
JUNE = dt.date(2026, 6, 10)
FARM = read_farm(EXAMPLE)


def run(*words: object) -> tuple[int, str, str]:
    result = CliRunner().invoke(app, [str(word) for word in words], env={"COLUMNS": "120"})
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.stdout, result.stderr


def test_an_own_order_is_timed_and_checked() -> None:
    """A-C-B-D drives 10 + 25 + 10 + 25 + 30 = 100 min and works 200: exactly the 300 from 08:00 to 13:00."""
    tried = ask_stage.try_order(FARM, JUNE, "one", ["A", "C", "B", "D"])
    assert tried.round is not None
    assert tried.round.given_order
    assert tried.round.itineraries[0].away_seconds == 300 * 60
    assert not tried.round.proof.optimal


def test_an_own_order_that_is_too_long_says_what_it_breaks_and_by_how_much() -> None:
    """A-D-C-B would drive 10 + 35 + 10 + 10 + 25 = 90; with home by 12:30 (270 min) its 290 min are 20 over."""
    crew = FARM.crews[0].model_copy(update={"home_by": dt.time(12, 30)})
    tried = ask_stage.try_order(FARM.model_copy(update={"crews": (crew,)}), JUNE, "one", ["A", "D", "C", "B"])
    assert tried.round is None
    assert tried.lines == ("It passes home by by 20 min.",) or "20 min" in tried.lines[0]


def test_what_an_own_order_does_not_name_is_told_as_such() -> None:
    tried = ask_stage.try_order(FARM, JUNE, "one", ["A", "B"])
    assert tried.round is not None
    assert {left.site: left.reason.value for left in tried.round.left_out} == {
        "C": "not in your order",
        "D": "not in your order",
    }
    lied = tried.round.model_copy(update={"given_order": False})
    assert any("only a given order" in line for line in broken_promises(lied, FARM, farm_legs(FARM)))


@pytest.mark.parametrize("sites", [["A", "A"], ["Z"]])
def test_an_own_order_of_unknown_or_doubled_sites_is_refused(sites: list[str]) -> None:
    with pytest.raises(AskedError):
        ask_stage.try_order(FARM, JUNE, "one", sites)


def test_a_crew_that_is_not_out_is_refused() -> None:
    """The second crew shares the van of the first, which goes out that day."""
    second = FARM.crews[0].model_copy(update={"id": "two", "name": "Two"})
    farm = FARM.model_copy(update={"crews": (*FARM.crews, second)})
    with pytest.raises(AskedError, match="out are: one"):
        ask_stage.try_order(farm, JUNE, "two", ["A"])


def test_what_if_plans_each_change_alone_and_all_together() -> None:
    """An hour less leaves out D; with one more person all four take 10 x 4 + 23 min 32 s x 4 + 70 min = 3 h 24."""
    rows = dict(ask_stage.what_if(FARM, JUNE, Changes(home_by=dt.time(12), people=1)))
    assert list(rows) == ["as it is", "home by 12:00", "+1 person a crew", "all of these"]
    assert [len(row.left_out) for row in rows.values()] == [0, 1, 0, 0]
    assert rows["all of these"].itineraries[0].away_seconds == 40 * 60 + 4 * 1412 + 70 * 60
    assert FARM.crews[0].people == 1


def test_differences_name_what_is_gained_lost_and_saved() -> None:
    """Without D: 270 min become 200, and 70 min of driving 50."""
    rows = dict(ask_stage.what_if(FARM, JUNE, Changes(without=("D",))))
    found = difference(rows["as it is"], rows["without D"])
    assert found.lost == ("Damson: Weekly inspection",)
    assert found.gained == ()
    assert found.away_seconds == -70 * 60
    back = difference(rows["without D"], rows["as it is"])
    assert (back.gained, back.lost) == (found.lost, found.gained)


@pytest.mark.parametrize("changes", [Changes(people=-1), Changes(vehicle="bus"), Changes(without=("Z",))])
def test_a_change_that_cannot_be_is_refused(changes: Changes) -> None:
    with pytest.raises(AskedError):
        changed(FARM, changes)


def test_the_commands_answer_with_exit_codes_and_plain_words(tmp_path: Path) -> None:
    folder = shutil.copytree(EXAMPLE, tmp_path / "farm", ignore=shutil.ignore_patterns("rounds"))
    asked = ("--on", JUNE.isoformat())
    assert run("try", folder, *asked, "--order", "A, B, C, D")[0] == 0
    assert run("try", folder, *asked, "--order", "Z")[0] == 2
    assert run("explain", folder, "A", *asked)[1].startswith("Alder: stop")
    assert run("explain", folder, "Z", *asked)[0] == 2
    assert "without D" in run("what-if", folder, *asked, "--without", "D")[1]
    assert run("what-if", folder, *asked)[0] == 2
    assert run("what-if", folder, *asked, "--start", "soon")[0] == 2
    run("plan", folder, *asked)
    written = folder / "rounds" / JUNE.isoformat() / "round.json"
    assert "The same jobs" in run("compare", written, written)[1]
    assert run("compare", written, tmp_path / "none.json")[0] == 2
    (tmp_path / "bad.json").write_text("{}", encoding="utf-8")
    assert "is not a round" in run("compare", written, tmp_path / "bad.json")[2]


def test_the_rest_of_a_day_starts_where_the_crew_stands() -> None:
    """At B at 10:00 with A and B done: C is 10 min on, D 10 more, home 30: 10 + 50 + 10 + 50 + 30 is 12:30."""
    planned = ask_stage.replan(FARM, JUNE, "one", Moment(at=dt.time(10), here="B", done=["A", "B"]))
    (day,) = planned.itineraries
    assert [stop.site for stop in day.stops] == ["C", "D"]
    assert f"{day.leave:%H:%M} {day.home:%H:%M}" == "10:00 12:30"
    assert planned.start is not None
    assert planned.start.name == "Birch"
    assert planned.all_done


def test_what_does_not_fit_the_rest_of_the_day_is_left_out() -> None:
    """At B at 10:30 the same would end at 13:00; at 10:31 one must go, and it is the want."""
    fits = ask_stage.replan(FARM, JUNE, "one", Moment(at=dt.time(10, 30), here="B", done=["A", "B"]))
    late = ask_stage.replan(FARM, JUNE, "one", Moment(at=dt.time(10, 31), here="B", done=["A", "B"]))
    assert fits.all_done
    assert [left.site for left in late.left_out] == ["D"]


def test_what_is_not_on_the_vehicle_cannot_be_used() -> None:
    """Fondant for one site (12.5 kg) on board serves the must of the two that are left."""
    jobs = tuple(job.model_copy(update={"kind": "fondant"}) for job in FARM.jobs)
    farm = FARM.model_copy(update={"jobs": jobs})
    moment = Moment(at=dt.time(9), here="B", done=["A", "B:fondant"], on_board={"fondant": 12.5})
    planned = ask_stage.replan(farm, JUNE, "one", moment)
    assert [stop.site for stop in planned.itineraries[0].stops] == ["C"]
    assert [left.site for left in planned.left_out] == ["D"]


def test_the_rest_of_a_day_may_start_at_any_place() -> None:
    """A stand on no site has estimated drives out of it; the check holds them like any other."""
    planned = ask_stage.replan(FARM, JUNE, "one", Moment(at=dt.time(9), here="52.305, -2.49", done=["A"]))
    assert planned.itineraries[0].stops[0].drive.origin.value == "estimate from straight line"
    assert {stop.site for stop in planned.itineraries[0].stops} == {"B", "C", "D"}


@pytest.mark.parametrize(
    "words",
    [
        ("--at", "noon", "--from", "B"),
        ("--at", "10:00", "--from", "nowhere"),
        ("--at", "10:00", "--from", "B", "--done", "Z"),
        ("--at", "10:00", "--from", "B", "--on-board", "fondant"),
        ("--at", "10:00", "--from", "B", "--on-board", "gold=1"),
        ("--at", "10:00", "--from", "B", "--crew", "none"),
    ],
)
def test_a_replan_that_cannot_be_is_refused_in_one_line(words: tuple[str, ...]) -> None:
    code, printed, told = run("replan", EXAMPLE, "--on", JUNE.isoformat(), *words)
    assert (code, printed) == (2, "")
    assert len(told.strip().splitlines()) == 1


def test_what_if_each_crew_left_base_only_once() -> None:
    """Fern's two loads of supers in one: what does not fit one load is left out, and the farm is as it was."""
    farm = returning_farm()
    once = changed(farm, Changes(trips=1))
    assert [crew.trips_a_day for crew in (*once.crews, *farm.crews)] == [1, 2]
    rounds = [plan_days(build_instance(one, legs_of(one), (SUMMER,))) for one in (farm, once)]
    assert [len(round_.left_out) for round_ in rounds] == [0, 1]
    (left,) = rounds[1].left_out
    assert left.insertion is not None
    assert [fall.what for fall in left.insertion.shortfalls] == ["payload"]


def test_what_if_and_the_rest_of_a_day_take_the_seconds_given(tmp_path: Path) -> None:
    """Four sites are proved at once, so a second each is never used up; the answers are those without it."""
    asked = ("what-if", EXAMPLE, "--on", JUNE, "--home-by", "11:00", "--trips", "1")
    plain, timed = run(*asked), run(*asked, "--seconds", "1")
    assert timed == plain
    assert plain[0] == 0
    assert "1 trip a day" in plain[1]
    folder = shutil.copytree(EXAMPLE, tmp_path / "farm", ignore=shutil.ignore_patterns("rounds"))
    here = ("replan", folder, "--on", JUNE, "--at", "09:30", "--from", "A", "--done", "A")
    plain, timed = run(*here), run(*here, "--seconds", "1")
    assert timed == plain
    assert plain[0] == 0
    code, _, told = run(*here, "--seconds", "0")
    assert code == 2
    assert "--seconds" in told


def test_one_more_load_is_told_where_it_would_do() -> None:
    """Big's supers are two loads by themselves: with the two of the others, two trips serve but two of four."""
    big = SITES[0].model_copy(update={"id": "big", "name": "Big", "hives": 20})
    supers = JOBS[0].model_copy(update={"id": "jobs.csv:6", "site": "big", "hives": 20, "rank": Rank.WANT})
    farm = returning_farm(sites=(*SITES, big), jobs=(*JOBS, supers))
    legs = legs_of(farm)
    split = split_jobs(farm, legs, (SUMMER,))
    assert [job.hives for job in split.jobs if job.site == "big"] == [10, 10]
    round_ = plan_days(build_instance(split, legs, (SUMMER,)))
    assert broken_promises(round_, split, legs) == ()
    assert [len(left.jobs) for left in round_.left_out] == [1, 1]
    assert all("beside the visits" in left.text and "break" not in left.text for left in round_.left_out)
    for left in round_.left_out:
        assert "one more load from base (trips_a_day = 3)" in [remedy.text for remedy in left.remedies]
    thrice = changed(split, Changes(trips=3))
    more = plan_days(build_instance(thrice, legs, (SUMMER,)))
    assert broken_promises(more, thrice, legs) == ()
    assert len(more.left_out) == 1
