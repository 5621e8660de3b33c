"""The usual cautions are shown with every round, in every output."""

from collections.abc import Callable

import pytest

from routing.round import Round
from routing.share.cautions import round_cautions, safety_cautions
from routing.share.markdown import round_markdown
from routing.share.page import round_page
from tests.share.sample import sample_round


def test_the_number_to_call_is_the_farms() -> None:
    stings = next(text for text in safety_cautions("112") if text.startswith("Stings"))
    assert "call 112" in stings
    assert "anaphylaxis" in stings


def test_each_danger_of_the_work_has_its_caution() -> None:
    first = [text.split(":")[0] for text in safety_cautions("999")]
    assert first == [
        *("Working alone", "Stings", "Load", "Lifting", "Driving", "Livestock and gates", "Medicines and acids"),
        "Notifiable pests and diseases",
    ]


@pytest.mark.parametrize(
    ("begins", "words"),
    [
        ("Stings", ("known to be allergic", "ask the doctor", "two injectors")),
        ("Driving", ("Sleepy: stop", "hours at the wheel and on duty", "look them up where you are")),
        ("Notifiable", ("American and European foulbrood", "small hive beetle", "Tropilaelaps", "Asian hornet")),
        ("Notifiable", ("call the bee inspector", "the law where you are may name others", "who decides")),
    ],
)
def test_each_caution_names_the_danger_and_defers_to_who_decides(begins: str, words: tuple[str, ...]) -> None:
    (caution,) = [text for text in safety_cautions("999") if text.startswith(begins)]
    assert [word for word in words if word not in caution] == []


def test_a_caution_of_the_round_that_says_the_same_is_shown_once() -> None:
    usual = safety_cautions("999")
    shown = round_cautions(sample_round(cautions=("Ice on the lanes.", usual[0])))
    assert shown == ("Ice on the lanes.", *usual)


def test_an_empty_number_is_still_a_sentence() -> None:
    assert any("call the emergency number," in text for text in round_cautions(sample_round(emergency_number="")))


@pytest.mark.parametrize("output", [round_markdown, round_page])
def test_every_output_holds_them(output: Callable[[Round], str]) -> None:
    text = output(sample_round())
    for words in ("Working alone: leave this round", "call 999", "for each axle", "15 minutes in every two hours"):
        assert words in text
