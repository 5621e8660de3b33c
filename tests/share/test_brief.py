"""A round on one screen: the answer in the first lines, every caution once, nothing wider than the terminal."""

import io

import pytest
from rich.console import Console

from routing.round import LeftOut, Round
from routing.share.terminal.terminal import print_round
from routing.share.wording.brief import print_brief
from routing.share.wording.sheet import round_sheet
from tests.share.sample import HOSTILE, SEEN, alder, hostile_round, lefts, sample_round


def brief(round_: Round, width: int = 80, *, terminal: bool = False) -> str:
    to = Console(file=io.StringIO(), width=width, force_terminal=terminal)
    print_brief(round_, to)
    assert isinstance(to.file, io.StringIO)
    return to.file.getvalue()


def test_the_example_day_fits_a_screen_and_answers_first(hollin_vale: Round) -> None:
    """With the seven lines or fewer that tell what was written it stays within 80."""
    lines = brief(hollin_vale).splitlines()
    assert len(lines) <= 72
    assert any("dark" in line for line in lines[:6])
    assert any("Leave 07:35, home 15:54" in line for line in lines[:6])
    assert any("Left out that must be done: Larch Rise (no vehicle)." in line for line in lines[:6])


def test_every_caution_is_told_once(hollin_vale: Round) -> None:
    text = brief(hollin_vale)
    cautions = text[text.index("Take care") :]
    for lead in ("Stings", "Lifting", "Driving", "Medicines"):
        assert cautions.count(lead) == 1


def test_words_that_only_a_program_needs_are_not_shown(hollin_vale: Round) -> None:
    for words in ("points", "V2", "Cheapest place", "by by", "Proved best", "Not proved best"):
        assert words not in brief(hollin_vale)


@pytest.mark.parametrize("width", [60, 72, 80, 100])
def test_no_line_is_wider_than_the_terminal(width: int, hollin_vale: Round) -> None:
    for round_ in (hollin_vale, sample_round(), hostile_round("x" * 10_000)):
        assert max(len(line) for line in brief(round_, width).splitlines()) <= width


def test_piped_or_without_colour_there_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    assert "\x1b" not in brief(sample_round())
    monkeypatch.setenv("NO_COLOR", "1")
    codes = {part.split("m")[0] for part in brief(sample_round(), terminal=True).split("\x1b[")[1:]}
    assert codes == {"0", "1"}  # reset and bold. Source: ECMA-48, 8.3.117 Select Graphic Rendition


def test_hostile_text_is_only_characters() -> None:
    text = brief(hostile_round(), width=1000)
    assert SEEN in text
    for letter in "\x1b\x07\u202e\u2066":
        assert letter in HOSTILE
        assert letter not in text


def test_the_drives_shown_come_to_the_driving_shown(hollin_vale: Round) -> None:
    """A person who adds up the column must come to the total above it: 19 + 15 + 22 + ... + 22 = 179 min."""
    (crew,) = round_sheet(hollin_vale).crews
    drives = [*(stop.drive for stop in crew.stops), crew.home_drive]
    text = brief(hollin_vale)
    assert all(f" {drive} " in text for drive in drives)
    hours, rest = divmod(sum(int(drive.removesuffix(" min")) for drive in drives), 60)
    assert f"Driving {hours} h {rest:02}," in text


def test_faults_of_the_program_stand_before_the_stops() -> None:
    text = brief(sample_round(faults=("crew anna: wrong",)))
    assert text.index("crew anna: wrong") < text.index("Mill Bank")


def test_many_left_out_are_named_to_a_dozen_and_counted() -> None:
    moor: LeftOut = lefts()[0]
    text = brief(sample_round(left_out=(moor,) * 15))
    assert text.count("\N{MULTIPLICATION SIGN} Far Moor") == 12
    assert "and 3 more." in text


def test_the_whole_text_begins_with_the_same_answer(hollin_vale: Round) -> None:
    to = Console(file=io.StringIO(), width=80)
    print_round(hollin_vale, to)
    assert isinstance(to.file, io.StringIO)
    assert to.file.getvalue().splitlines()[:4] == brief(hollin_vale).splitlines()[:4]


def test_a_second_break_that_is_due_is_told() -> None:
    """It is of the day as a whole and of no job; it was shown nowhere."""
    text = "After the break it is 7 h 00 without another: take a second one."
    day = alder().model_copy(update={"cautions": (text,)})
    shown = " ".join(brief(sample_round(itineraries=(day,))).split())
    assert shown.count("After the break it is 7 h 00 without another: take a second one") == 1
