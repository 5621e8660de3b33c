"""A fault of the program is told wherever the round is shown, and as plain words only."""

from __future__ import annotations

from collections.abc import Callable
from io import StringIO

import pytest
from rich.console import Console

from routing.round import Round
from routing.share.exports.markdown import round_markdown
from routing.share.map.map import round_map
from routing.share.pages.helper_page import helper_pages
from routing.share.pages.page import round_page
from routing.share.terminal.terminal import print_round


def _terminal(round_: Round) -> str:
    console = Console(file=StringIO(), width=200)
    print_round(round_, console)
    assert isinstance(console.file, StringIO)
    return console.file.getvalue()


SHOWN: dict[str, Callable[[Round], str]] = {
    "terminal": _terminal,
    "markdown": round_markdown,
    "page": round_page,
    "map": lambda round_: round_map(round_, None),
    "crew": lambda round_: next(iter(helper_pages(round_, {}).values())),
}


@pytest.mark.parametrize("show", SHOWN.values(), ids=SHOWN.keys())
def test_a_fault_is_told_and_nothing_where_there_is_none(good: Round, show: Callable[[Round], str]) -> None:
    faulty = good.model_copy(update={"faults": ("A fault of the program at Moor <b>apiary</b>.",)})
    text = show(faulty)
    assert "Faults of the program" in text
    assert "A fault of the program at Moor" in text
    assert "<b>apiary" not in text or show is _terminal
    assert "Faults of the program" not in show(good.model_copy(update={"faults": ()}))
