"""Whether a passphrase is strong enough for a file that anyone may try to open as often as they like, and better words.

How many tries a passphrase lasts is reckoned by zxcvbn, which knows common words, names, dates, keyboard runs and
repeats. That is an estimate and leans to the high side for phrases that many know by heart: a proverb is no passphrase.
Both libraries are imported at the top: only the lock comes here.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Collection

from dicewarepy import diceware
from zxcvbn import zxcvbn

from routing.errors import AskedError
from routing.share.safety.names import squashed

SHORTEST = 8
"""Source: NIST SP 800-63B (2017), section 5.1.1.2: at least 8 characters."""

ADVISED = 15
"""Source: NIST SP 800-63B-4 (2025): at least 15 characters where nothing else protects; read in a summary."""

LONGEST = 1_000
"""Characters; nothing is ever cut off. Our own choice: more is a file piped in by mistake."""

FEWEST_DIFFERENT = 5
"""Different characters in a passphrase; common sense, no source."""

FEWEST_TRIES = 10**12
"""Tries that a passphrase must last. Our own choice: at some ten thousand tries a second of 600,000 rounds each, which
one strong graphics card makes (from memory, not checked), three years. The library's own highest class is 10**10."""

MEASURED = 72
"""Characters that are measured: the library's own limit, since its time grows with the square of them."""

WORDS_OFFERED = 4
WORDS_OF_LIST = 6**5
"""Words in the list that the offer is drawn from by five throws of a die each: the long list of the Electronic Frontier
Foundation (2016), under CC BY 3.0 US, as dicewarepy brings it."""


def normal_passphrase(passphrase: str) -> str:
    """Return a passphrase in NFKC with runs of spaces as one, none at the ends: so it counts the same on any keyboard.

    Source: NIST SP 800-63B, section 5.1.1.2 (normalisation; runs of spaces as one).
    """
    parts = unicodedata.normalize("NFKC", passphrase).replace("\t", " ").split(" ")
    return " ".join(part for part in parts if part)


def sound_passphrase(passphrase: str, known: Collection[str] = ()) -> str:
    """Return the passphrase as it enters the key: `normal_passphrase` of one that may be used.

    `known` are words that whoever knows the farm tries first: its names. Raises AskedError where it is too weak to
    protect anything, with four better words.
    Source: NIST SP 800-63B, section 5.1.1.2 (what is common or known of the place is compared with).
    """
    words = normal_passphrase(passphrase)
    if any(unicodedata.category(letter) in {"Cc", "Cs"} for letter in words):
        raise AskedError("the passphrase holds a control character, which a phone cannot type")
    if len(words) > LONGEST:
        raise AskedError(f"the passphrase has more than {LONGEST} characters; is it the right one?")
    if len(words) < SHORTEST or len(set(words)) < FEWEST_DIFFERENT:
        why = f"use {SHORTEST} characters or more, {FEWEST_DIFFERENT} of them different"
        raise AskedError(f"the passphrase is too weak: {why}; {offer()}")
    if (lasts := tries(words, known)) < FEWEST_TRIES:
        why = f"by estimate it lasts {_round_number(lasts)} tries, and should last {_round_number(FEWEST_TRIES)}"
        raise AskedError(f"the passphrase is too weak: {why}; {offer()}")
    return words


def tries(words: str, known: Collection[str] = ()) -> int:
    """Return after how many tries a passphrase is guessed, by estimate; of a long one, what its beginning lasts."""
    inputs = {part.casefold() for name in known for part in (name, squashed(name), *name.split()) if part}
    return int(zxcvbn(words[:MEASURED], user_inputs=sorted(inputs), max_length=MEASURED)["guesses"])


def offer() -> str:
    """Return a sentence that offers four words drawn by chance, and says how many such draws there are."""
    bits = WORDS_OFFERED * math.log2(WORDS_OF_LIST)
    return f"these four, drawn just now, are one of 2 to the power of {bits:.0f} such draws: {offered_words()}"


def offered_words() -> str:
    """Return four words drawn by the computer's source of secrets; drawn again where they happen to be weak."""
    while True:
        words = " ".join(diceware(WORDS_OFFERED))
        if len(words) >= ADVISED and tries(words) >= FEWEST_TRIES:
            return words


def passphrase_advice(passphrase: str, known: Collection[str] = ()) -> str:
    """Return a sentence of advice on a passphrase that is allowed but short, else an empty text."""
    if len(sound_passphrase(passphrase, known)) >= ADVISED:
        return ""
    return (
        f"the passphrase has fewer than {ADVISED} characters: whoever has the file can try as many as they like, "
        "so four or more words that have nothing to do with each other are safer"
    )


def _round_number(number: int) -> str:
    """Return a number in the words for its size: `40 thousand`, `1 million million`."""
    for size, words in (
        (10**12, " million million"),
        (10**9, " thousand million"),
        (10**6, " million"),
        (1000, " thousand"),
    ):
        if number >= size:
            return f"{number // size:,}{words}"
    return str(number)
