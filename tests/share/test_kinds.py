"""The list of job kinds stays short enough to read, and no number is without its source."""

from __future__ import annotations

import re

from rich.console import Console

from routing.farm.kinds import load_catalogue
from routing.share.terminal.kinds import print_kinds


def printed(width: int = 200) -> list[str]:
    console = Console(width=width)
    with console.capture() as shown:
        print_kinds(tuple(load_catalogue().job_kinds.values()), console)
    return [line.rstrip() for line in shown.get().splitlines()]


def test_every_number_points_to_a_source_that_is_told_once() -> None:
    """Each `[3]` beside a number has one line of its own below, all sources differ, and none is told that nobody uses."""
    lines = printed(width=2000)
    at = lines.index("Sources")
    used = {int(number) for line in lines[:at] for number in re.findall(r"\[(\d+)\]", line)}
    told = [re.match(r"\s+\[(\d+)\] (.+)", line) for line in lines[at + 1 :]]
    assert [int(found.group(1)) for found in told if found] == list(range(1, len(told) + 1))
    assert used == set(range(1, len(told) + 1))
    assert len({found.group(2) for found in told if found}) == len(told)


def test_a_kind_takes_no_more_lines_than_are_read_at_a_glance() -> None:
    """At most ten on a terminal of 80 columns, with its name; and what it may not be beside is one of them."""
    lines = printed(width=80)
    lines = lines[: lines.index("Sources")]
    heads = [number for number, line in enumerate(lines) if line and not line.startswith(" ")]
    assert len(heads) == len(load_catalogue().job_kinds)
    assert max(after - head for head, after in zip(heads, [*heads[1:], len(lines)], strict=True)) <= 10
    assert any(line.startswith("  not beside supers-on, supers-more [") for line in lines)
