"""No valid farm without a plan: what is false beside a round is left away, a day that fails is taken out, all is told."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest

from routing.check import broken_promises, judged, what_holds
from routing.errors import AskedError, CheckFailed
from routing.planning.ask.own_order import OwnOrder
from routing.round import FitAnswer, FitProof, ReasonCode, Round
from routing.stages import ask as ask_stage
from routing.stages import plan as plan_stage
from tests.check.damage import Path, with_change, with_twice, without
from tests.check.naive_round import naive_round
from tests.check.small_farm import FARM, LEFT, LEGS, ORDERS, WEDNESDAY, farm_with

HILL = ("itineraries", 0, "stops", 0)
REPORT = "Please report it with the farm folder."


def put(value: Any) -> Callable[[Any], Any]:
    return lambda _: value


FALSE: dict[str, tuple[Path, Any, str, Callable[[Round], object], object]] = {
    "insertion": (
        ("left_out", 0, "insertion", "extra_seconds"),
        0,
        "a wrong cheapest place at Moor apiary",
        lambda round_: round_.left_out[0].insertion,
        None,
    ),
    "remedies": (
        ("left_out", 0, "remedies", 0, "amount"),
        -1,
        "a wrong remedy at Moor apiary",
        lambda round_: round_.left_out[0].remedies,
        (),
    ),
    "reason": (
        ("left_out", 2, "reason"),
        "too heavy",
        "a wrong reason at Gate apiary",
        lambda round_: (round_.left_out[2].reason, "see faults" in round_.left_out[2].text),
        (ReasonCode.NO_ROOM, True),
    ),
    "bound": (
        ("proof", "rank_bounds"),
        (1, 1, 1),
        "a wrong word on how good the round is",
        lambda round_: (round_.proof.optimal, round_.proof.text, round_.proof.rank_bounds),
        (False, "Not proven.", ()),
    ),
    "even": (("even", "longest_seconds"), 1, "a wrong word on even days", lambda round_: round_.even, None),
    "clash": (("clash",), "These clash.", "a wrong word on musts that clash", lambda round_: round_.clash, ""),
}
"""What is made false, the fault that is told, and what stands there instead."""


@pytest.mark.parametrize(("path", "value", "fault", "look", "then"), FALSE.values(), ids=FALSE.keys())
def test_a_false_sentence_beside_the_round_is_left_away_and_told(
    good: Round, path: Path, value: object, fault: str, look: Callable[[Round], object], then: object
) -> None:
    false = with_change(good, path, put(value))
    judgement = judged(false, FARM, LEGS)
    assert judgement.beside
    assert judgement.round_broken == ()
    mended = what_holds(false, FARM, LEGS)
    assert mended.itineraries == false.itineraries
    (told,) = mended.faults[1:]
    assert told.startswith("A fault of the program: the check found")
    assert fault in told
    assert told.endswith(REPORT)
    assert look(mended) == then
    assert broken_promises(mended, FARM, LEGS) == ()


BESIDE_A_DAY: dict[str, tuple[Path, Any, str]] = {
    "call": (("itineraries", 0, "call_ins", 0, "where"), "Lane apiary", "a wrong place for a call"),
    "caution": (("itineraries", 0, "cautions"), ("Take a second break.",), "a wrong word on a second break"),
}


@pytest.mark.parametrize(("path", "value", "fault"), BESIDE_A_DAY.values(), ids=BESIDE_A_DAY.keys())
def test_a_word_of_a_day_that_must_not_be_missing_is_put_right(good: Round, path: Path, value: Any, fault: str) -> None:
    mended = what_holds(with_change(good, path, put(value)), FARM, LEGS)
    (told,) = mended.faults[1:]
    assert f"{fault} in the day of Anna alone on 2025-12-03; it was put right." in told
    assert mended.itineraries[0].stops == good.itineraries[0].stops
    assert mended.itineraries[0].cautions == ()
    assert mended.itineraries[0].call_ins[0].where in {"Hill apiary", "after Hill apiary"}
    assert broken_promises(mended, FARM, LEGS) == ()


def test_a_second_break_that_is_due_is_told_by_the_check_where_the_planner_forgot_it() -> None:
    short = farm_with(FARM, "crews", "anna", break_after_hours=1.6)
    round_ = naive_round(short, LEGS, WEDNESDAY, ORDERS, LEFT)
    mended = what_holds(with_change(round_, ("itineraries", 0, "cautions"), put(())), short, LEGS)
    assert "A second break is due: after the first it is 1 h 46 without another" in mended.itineraries[0].cautions[0]
    assert broken_promises(mended, short, LEGS) == ()


def test_a_good_round_is_returned_as_it_is(good: Round) -> None:
    assert what_holds(good, FARM, LEGS) is good


def test_work_that_still_fits_is_told_and_the_round_stays() -> None:
    """Ben has until 11:00 and could do ford after wood."""
    orders = {**ORDERS, "ben": (("wood", (6, 7)),)}
    round_ = naive_round(FARM, LEGS, WEDNESDAY, orders, (*LEFT, ("ford", (8,), "no room in the day")))
    mended = what_holds(round_, FARM, LEGS)
    assert mended.itineraries == round_.itineraries
    assert mended.left_out == round_.left_out
    assert [fault for fault in mended.faults if "that still fits at Ford apiary" in fault] == list(mended.faults)
    assert broken_promises(mended, FARM, LEGS) == ()


DAMAGE: dict[str, Callable[[Round], Round]] = {
    "time": lambda good: with_change(good, (*HILL, "arrive"), lambda at: at + dt.timedelta(seconds=1)),
    "load": lambda good: with_change(good, (*HILL, "load_kg"), lambda kg: kg + 1),
    "twice": lambda good: with_twice(good, HILL[:3], 0),
    "no such crew": lambda good: with_change(good, ("itineraries", 0, "crew"), put("carl")),
    "invented job": lambda good: with_change(good, (*HILL, "jobs", 0, "id"), put("jobs.csv:99")),
    "elsewhere": lambda good: with_change(good, ("itineraries", 0, "date"), put(WEDNESDAY + dt.timedelta(days=9))),
}


@pytest.mark.parametrize("damage", DAMAGE.values(), ids=DAMAGE.keys())
def test_a_day_that_does_not_hold_is_taken_out(good: Round, damage: Callable[[Round], Round]) -> None:
    mended = what_holds(damage(good), FARM, LEGS)
    assert mended.itineraries == good.itineraries[1:]
    out = {job.id: left for left in mended.left_out for job in left.jobs}
    for id_ in ("jobs.csv:2", "jobs.csv:3", "jobs.csv:4", "jobs.csv:5"):
        assert out[id_].text == "left out because of a fault of the program, see faults"
        assert out[id_].reason is ReasonCode.NO_ROOM
        assert out[id_].insertion is None
        assert any(out[id_].name in fault for fault in mended.faults)
    assert any("the day of Anna alone on 2025-12-" in fault for fault in mended.faults)
    assert not mended.proof.optimal
    assert mended.even is None
    assert broken_promises(mended, FARM, LEGS) == ()


def test_a_job_that_vanished_is_left_out(good: Round) -> None:
    mended = what_holds(without(good, ("left_out",), 2), FARM, LEGS)
    assert mended.itineraries == good.itineraries
    assert "jobs.csv:11" in {job.id for left in mended.left_out for job in left.jobs}
    assert any("what was planned at Gate apiary" in fault for fault in mended.faults)


def test_a_job_that_is_planned_and_left_out_is_planned(good: Round) -> None:
    planned = good.itineraries[0].stops[0].jobs[1].model_copy(update={"work_seconds": 0})
    mended = what_holds(
        with_change(good, ("left_out", 0, "jobs"), lambda jobs: [*jobs, planned.model_dump()]), FARM, LEGS
    )
    assert mended.itineraries == good.itineraries
    assert [job.id for left in mended.left_out for job in left.jobs] == ["jobs.csv:9", "jobs.csv:10", "jobs.csv:11"]


def test_work_beyond_the_stock_is_taken_out(good: Round) -> None:
    """Anna's 12 strips and Ben's 6 of 17: Ben, the last, stays at home."""
    farm = FARM.model_copy(update={"stock": {"fondant": 200, "strip": 17}})
    round_ = with_change(good, ("itineraries", 0, "load"), lambda load: load)
    mended = what_holds(round_, farm, LEGS)
    assert len(mended.itineraries) < 2
    assert broken_promises(mended, farm, LEGS) == ()


def test_a_round_of_another_farm_is_refused(good: Round) -> None:
    with pytest.raises(CheckFailed):
        what_holds(good, FARM.model_copy(update={"name": "Another"}), LEGS)


@pytest.fixture
def broken_planner(monkeypatch: pytest.MonkeyPatch) -> Callable[[Round], None]:
    """Return a function after which every question about the invented farm is answered with this round."""

    def plans(round_: Round) -> None:
        answer = FitAnswer(date=WEDNESDAY, fits=True, proof=FitProof.ORDER, lines=("All fits.",), round=round_)
        for stage in (plan_stage, ask_stage):
            monkeypatch.setattr(stage, "farm_and_legs", lambda farm: (farm, LEGS))
        monkeypatch.setattr(ask_stage, "build_instance", lambda *_: None)
        monkeypatch.setattr(ask_stage, "plan_days", lambda _days, wish=None: round_)  # noqa: ARG005 - asked by name
        monkeypatch.setattr(plan_stage, "plan_shared", lambda farm, *_: (farm, round_))
        monkeypatch.setattr(ask_stage, "fit_shared", lambda *_: answer)
        monkeypatch.setattr(
            ask_stage, "own_order_shared", lambda *_: OwnOrder(("This order keeps every rule.",), round_)
        )

    return plans


Plans = Callable[[Round], None]


def unnumbered(round_: Round) -> Round:
    """Return the round as it was before it was given what its days can be reckoned anew from."""
    days = tuple(day.model_copy(update={"numbers": None}) for day in round_.itineraries)
    return round_.model_copy(update={"itineraries": days})


def test_a_planner_that_talks_nonsense_still_gives_its_plan(good: Round, broken_planner: Plans) -> None:
    broken_planner(with_change(good, ("proof", "rank_bounds"), put((1, 1, 1))))
    planned = plan_stage.plan(FARM, WEDNESDAY)
    assert unnumbered(planned).itineraries == good.itineraries
    assert planned.proof.text == "Not proven."
    assert "how good the round is" in planned.faults[-1]
    answer = ask_stage.fit(FARM, WEDNESDAY)
    assert answer.fits
    assert answer.round == unnumbered(planned).model_copy(
        update={"chance": good.chance}
    )  # only a plan simulates it anew
    assert ask_stage.try_order(FARM, WEDNESDAY, "anna", ()).round == answer.round


def test_a_planner_that_errs_in_one_day_gives_the_other(good: Round, broken_planner: Plans) -> None:
    broken_planner(DAMAGE["time"](good))
    assert unnumbered(plan_stage.plan(FARM, WEDNESDAY)).itineraries == good.itineraries[1:]


def test_a_question_whose_round_fails_is_answered_with_the_fault(good: Round, broken_planner: Plans) -> None:
    broken_planner(DAMAGE["time"](good))
    answer = ask_stage.fit(FARM, WEDNESDAY)
    assert not answer.fits
    assert answer.proof is FitProof.NOT_PROVED
    assert answer.round is None
    assert any("did not pass the check" in line for line in answer.lines[1:])
    tried = ask_stage.try_order(FARM, WEDNESDAY, "anna", ())
    assert tried.round is None
    assert any("did not pass the check" in line for line in tried.lines[1:])


def test_a_planner_that_plans_for_another_farm_is_refused(good: Round, broken_planner: Plans) -> None:
    broken_planner(with_change(good, ("farm",), put("Another")))
    for ask in (plan_stage.plan, ask_stage.fit):
        with pytest.raises(CheckFailed):
            ask(FARM, WEDNESDAY)


def test_a_saved_round_with_a_false_sentence_is_not_taken(good: Round, broken_planner: Plans) -> None:
    """What is saved is held to every promise; only what was told as a fault when it was planned is known already."""
    broken_planner(good)
    false = with_change(good, ("left_out", 0, "insertion", "extra_seconds"), put(0))
    with pytest.raises(AskedError, match="a visit more takes its time"):
        plan_stage.saved(FARM, false.model_dump_json())
    mended = what_holds(false, FARM, LEGS)
    assert unnumbered(plan_stage.saved(FARM, mended.model_dump_json())) == mended
