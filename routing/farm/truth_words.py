"""The words for yes and no, and for true and false, in languages that spreadsheets are kept in. No word is in both.

Source: common knowledge of the languages; from memory, not checked against a dictionary. Accents do not count.
"""

from __future__ import annotations

import unicodedata

YES_WORDS = (
    *("yes", "y", "true", "1", "x", "on", "\u2713", "\u2714", "\u2611"),
    *("ja", "j", "wahr", "waar", "jo", "oui", "vrai", "si", "vero", "verdadero", "sim", "verdadeiro", "veritable"),
    *("sann", "sant", "sand", "kylla", "tosi", "jah", "toene", "taip", "tiesa", "tak", "prawda", "ano", "pravda"),
    *("igen", "igaz", "da", "adevarat", "evet", "dogru", "ναι", "αληθης", "αληθεσ", "да", "истина", "так", "bai"),  # noqa: RUF001
)
NO_WORDS = (
    *("no", "n", "false", "0", "off", "\u2717", "\u2718", "\u2610"),
    *("nein", "falsch", "nee", "onwaar", "non", "faux", "falso", "nao", "nej", "falsk", "falskt", "usann", "nei"),
    *("ei", "epatosi", "vale", "vaar", "netiesa", "nie", "falsz", "ne", "nepravda", "nem", "hamis", "nu", "fals"),
    *("hayir", "yanlis", "οχι", "ψευδης", "нет", "ложь", "ні", "ez"),
)


def _bare(word: str) -> str:
    folded = unicodedata.normalize("NFKD", word.casefold()).replace("\u0142", "l").replace("\u0131", "i")
    return "".join(letter for letter in folded if not unicodedata.combining(letter)).strip(" .")


_YES = frozenset(map(_bare, YES_WORDS))
_NO = frozenset(map(_bare, NO_WORDS))


def says_yes(text: str) -> bool | None:
    """Return whether a word says yes or no, None where it says neither."""
    word = _bare(text)
    return True if word in _YES else False if word in _NO else None
