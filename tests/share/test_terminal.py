"""The terminal shows everything at 80 columns, without colour, and no name can steer it."""

import io

import pytest
from rich.console import Console

from routing.round import FitAnswer, FitProof, Round
from routing.share.terminal.light import LightRow, light_table
from routing.share.terminal.terminal import print_fit, print_round
from tests.share.sample import DATE, HOSTILE, SEEN, hostile_round, sample_round


def console(width: int = 80, *, terminal: bool = False) -> Console:
    return Console(file=io.StringIO(), width=width, force_terminal=terminal)


def shown(to: Console) -> str:
    assert isinstance(to.file, io.StringIO)
    return to.file.getvalue()


def printed(round_: Round, width: int = 80) -> str:
    to = console(width)
    print_round(round_, to)
    return shown(to)


def test_the_round_fits_80_columns_when_piped() -> None:
    text = printed(sample_round())
    assert max(len(line) for line in text.splitlines()) <= 80
    assert "\x1b" not in text


def test_times_light_and_load_of_a_stop_stand_on_one_line() -> None:
    line = next(line for line in printed(sample_round()).splitlines() if line.startswith("A1 "))
    assert " ".join(line.split()) == "A1 Mill Bank est. 25 min 08:03 08:21 09:11 6 h 29 182.6 kg"


@pytest.mark.parametrize(
    "words",
    [
        "Oxalic treatment, 8 hives, must, 3 days overdue: 45 min",
        "16 \N{MULTIPLICATION SIGN} box of 12.5 kg",
        "Heaviest: 212.5 kg on leaving base, of 650 kg (33 %).",
        "09:37  on the way or at Church Orchard",
        "Far Moor: no vehicle (certain: true of this visit alone)",
        "It would fit with 12 min more light.",
        "How good this round is",
        "Even days: 9 min more away.",
        "Drives are estimated from the straight line.",
        "No weather was looked at.",
        "Respirator on. (stop A2)",
    ],
)
def test_everything_of_the_round_is_there(words: str) -> None:
    assert words in printed(sample_round(), width=200)


def test_no_colour_is_used_at_all(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    to = console(terminal=True)
    print_round(sample_round(), to)
    codes = {part.split("m")[0] for part in shown(to).split("\x1b[")[1:]}
    assert codes == {"0", "1"}  # reset and bold. Source: ECMA-48, 8.3.117 Select Graphic Rendition


def test_hostile_text_is_only_characters() -> None:
    text = printed(hostile_round(), width=1000)
    assert SEEN in text
    assert "[red]|*x*" in text
    for letter in "\x1b\x07\u202e\u2066":
        assert letter in HOSTILE
        assert letter not in text


def test_a_name_of_ten_thousand_letters_stays_inside_80_columns() -> None:
    text = printed(hostile_round("x" * 10_000))
    assert max(len(line) for line in text.splitlines()) <= 80


def test_a_terminal_that_knows_ascii_only_gets_the_table_lines_in_ascii() -> None:
    raw = io.BytesIO()
    to = Console(file=io.TextIOWrapper(raw, encoding="ascii", errors="replace"), width=80)
    print_round(sample_round(), to)
    to.file.flush()
    assert b"Mill Bank" in raw.getvalue()
    assert b"----" in raw.getvalue()


def test_fit_says_yes_with_order_and_light() -> None:
    to = console(200)
    answer = FitAnswer(date=DATE, fits=True, proof=FitProof.ORDER, lines=("All fits.",), round=sample_round())
    print_fit(answer, to)
    text = shown(to)
    assert "is everything done before dark? YES." in text
    assert "A4 Hollow Farm (14:29, 1 h 11 of light left)" in text
    assert "How this is known: an order that fits." in text
    assert "Drives are estimated" in text


def test_fit_says_no_with_proof_and_missing_minutes() -> None:
    to = console(200)
    answer = FitAnswer(
        date=DATE,
        fits=False,
        proof=FitProof.BOUND,
        lines=("Work needs 9 h, [b]light[/b] is 7 h.",),
        missing_seconds=7201,
    )
    print_fit(answer, to)
    text = shown(to)
    assert "NO." in text
    assert "[b]light[/b]" in text
    assert "Missing" not in text
    assert "arithmetic anyone can follow" in text


def test_light_is_one_line_a_site_and_says_where_the_sun_does_not_rise() -> None:
    to = console()
    row = LightRow("Mill [b]Bank", "07:40", "08:20", "08:50", "15:25", "15:55", "16:34", "6 h 35")
    night = LightRow("North", None, None, None, None, None, None, None)
    light_table([row, night], to)
    lines = shown(to).splitlines()
    mill = next(line for line in lines if line.strip().startswith("Mill"))
    assert " ".join(mill.split()) == "Mill [b]Bank 07:40 08:20 08:50 15:25 15:55 16:34 6 h 35"
    north = next(line for line in lines if line.strip().startswith("North"))
    assert north.split() == ["North", *["none"] * 7]
    assert max(map(len, lines)) <= 80
