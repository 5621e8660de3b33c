"""Text from users is made plain before any output sees it."""

import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from routing.share.safety.safe import NAME_LONGEST, plain_name, plain_text
from tests.share.sample import HOSTILE, SEEN


@given(st.text(st.characters(categories=["L", "N", "P", "S", "Z", "C"]), max_size=200))
def test_nothing_that_acts_is_left_whatever_comes_in(text: str) -> None:
    shown = plain_text(text)
    acting = {letter for letter in shown if unicodedata.category(letter) in {"Cc", "Cf", "Cs", "Zl", "Zp"}}
    assert acting <= {"\u200c", "\u200d"}
    assert shown.encode().decode() == shown
    assert plain_text(shown) == shown


def test_hostile_text_loses_its_controls_and_stays_readable() -> None:
    shown = plain_text(HOSTILE)
    assert SEEN in shown
    assert "\ufffd[31m\ufffdtxt" in shown  # the escape and the bell are seen to have been there, the override is gone
    assert shown.endswith("\u05e9\u05dc End")  # letters of a language that runs right to left stay


def test_an_ordinary_name_is_left_as_it_is() -> None:
    for name in (
        "Mill Bank",
        "Cwm-y-Glo (top)",
        "Ty'n Llan & Son",
        "\u067e\u0646\u0628\u0647\u200c\u0632\u0627\u0631",
        "Ærø",
        "👩\u200d🌾",
    ):
        assert plain_text(name) == name


def test_long_text_is_cut_with_an_ellipsis() -> None:
    assert plain_name("x" * 10_000) == "x" * (NAME_LONGEST - 1) + "…"
    assert len(plain_text(" " * 10_000 + "x", 50)) <= 50


def test_a_name_of_nothing_visible_becomes_a_dash() -> None:
    assert plain_name("\u202e \u200b\n") == "-"
