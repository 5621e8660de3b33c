"""What the tests share keeps its own promises."""

from __future__ import annotations

import itertools
from pathlib import Path

from tests.together import in_threes, made_once, then_deep


def test_any_three_names_are_on_and_off_in_each_of_the_eight_ways() -> None:
    """By counting: of seven names there are 35 threes, each of them in eight ways, in far fewer than 128 choices."""
    names = "abcdefg"
    chosen = in_threes(names)
    for three in itertools.combinations(names, 3):
        assert len({tuple(name in choice for name in three) for choice in chosen}) == 8
    assert len(chosen) <= 24
    assert chosen[0] == frozenset()
    assert len(set(chosen)) == len(chosen)
    assert chosen == in_threes(names)


def test_what_is_usual_is_not_deep_as_well() -> None:
    mixed = then_deep([1, 2], range(4))
    assert mixed[:2] == [1, 2]
    assert [value.values for value in mixed[2:] if not isinstance(value, int)] == [(0,), (3,)]


def test_what_is_made_once_is_read_from_then_on(tmp_path: Path) -> None:
    made: list[str] = []

    def make_it() -> str:
        made.append("again")
        return "a round"

    assert [made_once(tmp_path / "round", make_it) for _ in range(2)] == ["a round"] * 2
    assert made == ["again"]
