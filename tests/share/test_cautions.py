"""The usual cautions are shown with every round, in every output."""

import html
import io
from collections.abc import Callable

import pytest
from rich.console import Console

from routing.farm.kinds import load_catalogue
from routing.round import Round
from routing.share.exports.markdown import markdown_text, round_markdown
from routing.share.map.map import round_map
from routing.share.pages.helper_page import helper_page
from routing.share.pages.page import round_page
from routing.share.terminal.terminal import print_round
from routing.share.wording.cautions import USUAL, safety_cautions
from routing.share.wording.sheet import round_sheet
from tests.share.sample import alder, job, rowan, sample_round, stop


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
    round_ = sample_round(itineraries=(), cautions=("Ice on the lanes.", usual[0]))
    assert round_sheet(round_).cautions == ("Ice on the lanes.", *usual)


def test_an_empty_number_is_still_a_sentence() -> None:
    assert any(
        "call the emergency number at once" in text for text in round_sheet(sample_round(emergency_number="")).cautions
    )


@pytest.mark.parametrize("output", [round_markdown, round_page])
def test_every_output_holds_them(output: Callable[[Round], str]) -> None:
    text = output(sample_round())
    for words in ("Working alone: leave this round", "call 999", "for each axle", "15 minutes in every two hours"):
        assert words in text


def of_kind(short: str) -> str:
    """Return a caution as job kinds have it."""
    return load_catalogue().cautions[short]


def careful_round() -> Round:
    """Return two crews' days: what the usual cautions say as well, one farm's own words, and a second break due."""
    own = "Lightning: come off the hill."
    both = (of_kind("stings"), of_kind("alone"), of_kind("lifting"))
    first = alder().model_copy(update={"cautions": ("After the break it is 7 h 00 without another: take one.",)})
    stops = tuple(each.model_copy(update={"jobs": (job(cautions=(*both, own)),)}) for each in first.stops)
    times = ("09:00:00", "09:00:00", "10:00:00")
    second = rowan().model_copy(
        update={"stops": (stop(1, "Lone Elm", (52.6, -2.9), times, jobs=(job(cautions=both),)),)}
    )
    return sample_round(itineraries=(first.model_copy(update={"stops": stops}), second), cautions=())


def on_screen(round_: Round) -> str:
    to = Console(file=io.StringIO(), width=10_000)
    print_round(round_, to)
    assert isinstance(to.file, io.StringIO)
    return to.file.getvalue()


def test_what_the_usual_cautions_say_instead_of_a_kinds_is_that_kinds_text() -> None:
    """A kind's caution that is worded anew and is no longer the one that is left out would be told twice."""
    texts = set(load_catalogue().cautions.values())
    replaced = [usual.instead_of for usual in USUAL if usual.instead_of]
    assert len(replaced) == 5
    assert set(replaced) <= texts


@pytest.mark.parametrize("output", [on_screen, round_markdown, round_page, round_map, lambda it: helper_page(it, 0)])
def test_each_caution_stands_once_in_all_that_is_written(output: Callable[[Round], str]) -> None:
    """Stings, lone work and lifting are told by their kinds and by the usual list; nothing is told twice."""
    text = html.unescape(output(careful_round()))
    for care in round_sheet(careful_round()).care:
        assert sum(text.count(words) for words in {care.text, markdown_text(care.text)}) == 1
    for begins in ("Stings: ", "Working alone: leave", "Lifting: ", "Lightning: "):
        assert text.count(begins) == 1


def test_those_of_the_day_come_first_with_the_stops_they_are_for() -> None:
    cautions = round_sheet(careful_round()).cautions
    assert cautions[0].endswith("take one. (Alder, Wed 18 Dec)")
    assert [text.partition(":")[0] for text in cautions[1:5]] == ["Stings", "Working alone", "Lifting", "Lightning"]
    assert cautions[1].endswith("at all. (every stop)")
    assert cautions[4].endswith("off the hill. (stops A1 to A4)")
    assert [text.partition(":")[0] for text in cautions[5:]] == [
        *("Load", "Driving", "Livestock and gates", "Medicines and acids", "Notifiable pests and diseases"),
    ]
