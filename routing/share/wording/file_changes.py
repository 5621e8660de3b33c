"""What is said of changes of the farm's files that a remedy or a what-if would take, and of what no file holds."""

from __future__ import annotations

from routing.share.safety.safe import plain_text

PACE = "No file says how quick work is: it is learned from what is logged. So this stays a what-if."
VEHICLE = (
    "No file makes {name} carry more. Where another vehicle may carry it, write that one under Farm, with the payload "
    "on its plate, and give it to the crew."
)
HIVES_OF_A_RULE = (
    "No file says for how many hives at {name} a rule asks: do so many, write down under Record how many, and the rest "
    "stays due."
)
PROMISED = "{name} is promised for {day}: agree on another day first, then change that row under Jobs."
DUE_BEFORE = (
    "{name} is due by {day}, and a row cannot begin after its due date ({until}). Take this for the round alone, or "
    "change the due date under Jobs."
)
GONE = "{jobs} of it stand in the farm's files no more: plan anew."
ROUND_ALONE = "No file of the farm needs to change for this: it is a matter of the round alone."
PLAN_ANEW = "The days are planned anew after it: a row of the table of jobs changes what is wanted."
WRITTEN = "Written to {file}: {what}."
REST_FIRST = "It rests on what the files do not say yet: write that there first, then ask for this again."
STALE = "The farm's files were changed since this was planned: plan it again before it is written there."


def line_words(file: str, line: int, was: str, will: str) -> str:
    """Return how one line of a file changes; an empty `was` is a new line, an empty `will` one that goes."""
    where = f"{plain_text(file)}, line {line}"
    if not was.strip():
        return f"{where}, a new line: {plain_text(will.strip())}"
    if not will.strip():
        return f"{where} goes: {plain_text(was.strip())}"
    return f"{where}: {plain_text(was.strip())} becomes {plain_text(will.strip())}"


def cell_words(file: str, line: int, whose: str, column: str, was: str, will: str) -> str:
    """Return how one cell of a table changes; `whose` tells which row it is."""
    where = f"{plain_text(file)}, line {line} ({plain_text(whose)}), {column.replace('_', ' ')}"
    return f"{where}: {plain_text(was) or 'empty'} becomes {plain_text(will) or 'empty'}"


def row_words(file: str, cells: dict[str, str]) -> str:
    """Return a row that is added to a table."""
    told = ", ".join(f"{name.replace('_', ' ')} {plain_text(text)}" for name, text in cells.items())
    return f"{plain_text(file)}, a new row: {told}"
