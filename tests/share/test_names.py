"""A name is found in every form in which it may be written, and in no other word."""

import pytest

from routing.share.safety.names import Finder, squashed
from tests.hostile_names import POOL, forms

FINDER = Finder.of(
    [
        *(
            ("Mill Bank", "<mill>"),
            ("Millbank", "<joined>"),
            ("Oak", "<oak>"),
            ("Rosehill", "<rose>"),
            ("Atwell", "<at>"),
        ),
        *(("A", "<a>"), ("12", "<12>"), ("\u6771\u5c71", "<east>"), ("\u2605", "<star>"), ("Mill (top)", "<top>")),
    ]
)


@pytest.mark.parametrize("name", POOL)
def test_every_form_of_a_name_is_hidden_whole(name: str) -> None:
    finder = Finder.of([(name, "<here>")])
    for form in forms(name):
        hidden = finder.hide(f"past {form}, then on")
        assert hidden in {"past <here>, then on", "past farm-<here>, then on"}, form


@pytest.mark.parametrize(
    ("text", "hidden"),
    [
        ("Oak, oaks, OAK\u2019s and the oak's gate", "<oak>, <oak>, <oak> and the <oak> gate"),
        ("cloak, soaked, Oakley, oaken", "cloak, soaked, Oakley, oaken"),
        ("theOakGate oak2 oak_2 2oak", "the<oak>Gate <oak>2 <oak>_2 2<oak>"),
        ("Mill Bank and Millbank", "<mill> and <joined>"),
        ("mill-bank.example/Mill%20Bank", "<mill>.example/<mill>"),
        ("M\u00adill B\u200bank, \uff2d\uff49\uff4c\uff4c \uff22ank", "<mill>, <mill>"),
        ("millbankgate", "<mill>gate"),
        ("It stands by the mill. A bank", "It stands by the mill. <a> bank"),
        ("a mill on the bank", "a mill on the bank"),
        ("rose hill, Rose Hill", "<rose>, <rose>"),
        ("park at well, not At Well", "park at well, not <at>"),
        ("a gate, A gate; 12 of 120", "a gate, <a> gate; <12> of 120"),
        ("by\u6771\u5c71gate \u2605", "by<east>gate <star>"),
        ("Mill (top) (locked)", "<top> (locked)"),
        ("", ""),
    ],
)
def test_where_a_name_begins_and_ends_is_told_by_what_stands_beside_it(text: str, hidden: str) -> None:
    assert FINDER.hide(text) == hidden
    assert FINDER.holds(text) == (text != hidden)


def test_no_names_hide_nothing() -> None:
    assert Finder.of([]).hide("Mill Bank") == "Mill Bank"
    assert not Finder.of([("", "x"), (" ", "x")]).holds("any text at all")


def test_letters_alone_are_compared() -> None:
    assert squashed(" Bl\u00e1th-L\u00c4NE \u2605 ") == "blathlane"
