"""The judges of `fit` and `try` find what is false and nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest

from routing.errors import AskedError
from routing.planning.ask.own_order import OwnOrder
from routing.round import FitAnswer, FitProof
from tests.hard import judge_questions
from tests.hard.oracle import Oracle
from tests.hard.round_by_hand import round_of
from tests.hard.test_oracle import DATE, all_drives, farm_of, stops


@pytest.fixture
def crowded(tmp_path: Path) -> Oracle:
    """Home 60 min after the start: A alone takes 40 min, A and B would take 70."""
    crew = {"earliest_start": '"08:00"', "home_by": '"09:00"'}
    return farm_of(tmp_path, {"A": "", "B": ""}, all_drives("A", "B"), crew=crew)


@pytest.mark.parametrize(
    ("line", "seconds", "found"),
    [
        ("By exact search over every order: 10 min of light (and later home) are missing.", 600, set()),
        ("By exact search over every order: 9 min of light (and later home) are missing.", 540, {"missing is not enough"}),
        ("At least 11 min are missing, whatever the order.", 660, {"missing is no bound"}),
        ("With 9 min more light (and later home) an order was found that does everything.", 0, {"an order was found that is none"}),
        ("However much light there were, opening hours, the load or the earliest start still clash.", 0, {"gates"}),
    ],
)  # fmt: skip
def test_what_fit_says_is_missing_is_held_to_the_farm(
    crowded: Oracle, monkeypatch: pytest.MonkeyPatch, line: str, seconds: int, found: set[str]
) -> None:
    """A and B need 10 min more than there are."""
    answer = FitAnswer(date=DATE, fits=False, proof=FitProof.SEARCH, lines=("No.", line), missing_seconds=seconds)
    monkeypatch.setattr(judge_questions, "fit", lambda *_: answer)
    sorts = {one.sort for one in judge_questions.judge_fit(crowded.world.farm, DATE)}
    assert sorts == {f"fit: {sort}" for sort in found}


def test_a_yes_and_a_no_of_fit_are_held_to_the_farm(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All fits: a no is false, and so is a yes whose round leaves B out."""
    oracle = farm_of(tmp_path, {"A": "", "B": ""}, all_drives("A", "B"))
    part = round_of(oracle, stops(oracle.outings[0], "A"), left="B")
    answers = {
        "fit: no is false": FitAnswer(date=DATE, fits=False, proof=FitProof.SEARCH, lines=("No.",)),
        "fit: yes, and a job is left out": FitAnswer(
            date=DATE, fits=True, proof=FitProof.ORDER, lines=("Yes.",), round=part
        ),
        "fit: yes without a round": FitAnswer(date=DATE, fits=True, proof=FitProof.ORDER, lines=("Yes.",)),
    }
    for sort, answer in answers.items():
        monkeypatch.setattr(judge_questions, "fit", lambda *_, answer=answer: answer)
        assert {one.sort for one in judge_questions.judge_fit(oracle.world.farm, DATE)} == {sort}


def test_a_true_order_that_try_refuses_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A then B keeps every rule: no words about it are true, nor an error."""
    oracle = farm_of(tmp_path, {"A": "", "B": ""}, all_drives("A", "B"))
    good = round_of(oracle, stops(oracle.outings[0], "A", "B"))

    def sorts() -> set[str]:
        return {one.sort for one in judge_questions.judge_try(oracle.world.farm, DATE, good, oracle, 0)}

    assert sorts() == set()
    monkeypatch.setattr(judge_questions, "try_order", lambda *_: OwnOrder(("It passes home by by 5 min.",), None))
    assert "try: the plan's own order is refused" in sorts()

    def unknown(*_: object) -> OwnOrder:
        raise AskedError("no")

    monkeypatch.setattr(judge_questions, "try_order", unknown)
    assert sorts() == {"try: refused"}
