"""Weak passphrases are refused by a measured strength, and what is offered instead is strong and drawn by chance."""

import re

import pytest

from routing.errors import AskedError
from routing.share.safety import passphrase as module
from routing.share.safety.passphrase import (
    FEWEST_TRIES,
    LONGEST,
    WORDS_OF_LIST,
    offer,
    offered_words,
    passphrase_advice,
    sound_passphrase,
    tries,
)

STRONG = "heather lorry ninety spoon"


@pytest.mark.parametrize(
    "passphrase",
    [
        *("", "        ", "short", "1234567", "aaaaaaaaaaaaaaaa", "abababababab"),
        *("bell\x07 and more", "half \ud800 of it", "ten words " * 101),
        *("password1", "heather5", "Summer2024!", "Tr0ub4dour&3", "abcdefghijklmnop", "qwertyuiop asdf"),
        *(
            "bees bees bees bees",
            "2026-12-10",
            "iloveyou honey",
            "\uff50\uff41\uff53\uff53\uff57\uff4f\uff52\uff44\uff11",
        ),
    ],
)
def test_a_passphrase_that_protects_nothing_is_refused(passphrase: str) -> None:
    with pytest.raises(AskedError, match="passphrase"):
        sound_passphrase(passphrase)


@pytest.mark.parametrize("passphrase", [STRONG, "kV7#xq2Rw!9z", "bl\u00e1th an earraigh fliuch", "x" + STRONG * 30])
def test_one_that_lasts_is_taken(passphrase: str) -> None:
    assert sound_passphrase(passphrase) == passphrase


def test_the_names_of_the_farm_make_a_passphrase_no_stronger() -> None:
    """Whoever finds the file beside the farm's name tries the names first; joined up and in other case too."""
    words = "Windyridge Quernmore"
    names = ("Harebell Bees", "Windy Ridge", "Quernmore")
    assert sound_passphrase(words) == words
    with pytest.raises(AskedError, match="too weak"):
        sound_passphrase(words, names)


def test_a_refusal_says_the_measure_and_offers_words_that_are_taken() -> None:
    with pytest.raises(AskedError) as refused:
        sound_passphrase("heather5")
    found = re.fullmatch(
        r"the passphrase is too weak: by estimate it lasts 11 thousand tries, and should last 1 million million; these "
        r"four, drawn just now, are one of 2 to the power of 52 such draws: ([a-z-]+ [a-z-]+ [a-z-]+ [a-z-]+)",
        str(refused.value),
    )
    assert found
    assert sound_passphrase(found[1]) == found[1]
    assert "heather5" not in str(refused.value)


def test_four_words_are_as_many_bits_as_are_said() -> None:
    """7,776 words, each as likely: 7,776 ** 4 is between 2 ** 51 and 2 ** 52, nearer the latter. Source: dicewarepy's list."""
    from dicewarepy.diceware import wordlist  # noqa: PLC0415 -- what is drawn from

    assert len(set(wordlist("en").values())) == WORDS_OF_LIST == 7776
    assert 2**51.5 < WORDS_OF_LIST**4 < 2**52
    assert "power of 52" in offer()


def test_each_offer_is_another_and_a_weak_draw_is_drawn_again(monkeypatch: pytest.MonkeyPatch) -> None:
    assert len({offered_words() for _ in range(20)}) == 20
    draws = iter([["a", "b", "c", "d"], ["love", "love", "love", "love"], STRONG.split()])
    monkeypatch.setattr(module, "diceware", lambda _count: next(draws))
    assert offered_words() == STRONG


def test_a_longer_passphrase_is_measured_by_its_beginning_in_no_time() -> None:
    assert tries("a" * LONGEST) < 10**4
    assert tries(STRONG + " " + "x" * 900) >= FEWEST_TRIES


def test_a_short_passphrase_gets_advice_and_a_long_one_does_not() -> None:
    assert "fewer than 15 characters" in passphrase_advice("kV7#xq2Rw!9z")
    assert passphrase_advice(STRONG) == ""
