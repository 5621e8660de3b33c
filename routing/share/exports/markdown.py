"""The round as Markdown: plain enough to read as it is, and inert when it is rendered.

Source of the syntax: CommonMark 0.31 (backslash escapes, entities) and the table rules of GitHub Flavored Markdown.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from routing.round import Round
from routing.share.wording.sheet import Sheet, round_sheet
from routing.share.wording.sheet_crew import CrewSheet, LoadLine
from routing.share.wording.sheet_left_out import LeftOutSheet

_SPECIAL = re.compile(r"([\\`*_{}\[\]#|~$^=!])")
_STARTS = re.compile(r"^(\d+)([.)])|^([-+])")
_LINKS = re.compile(r"(?i)(?::(?=//)|(?<=www)\.|:(?=\w))")


def markdown_text(text: str) -> str:
    """Return a plain text escaped so that Markdown shows exactly its characters, also in a table cell or list."""
    text = text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    text = _SPECIAL.sub(r"\\\1", text)
    text = _LINKS.sub(lambda found: "\\" + found.group(), text)  # no address becomes a link by itself
    return _STARTS.sub(lambda found: f"{found[1] or ''}\\{found[2] or found[3]}", text)


def round_markdown(round_: Round) -> str:
    """Return the whole round as one Markdown document that ends with a newline."""
    sheet = round_sheet(round_)
    blocks = [f"# {_t(sheet.title)}", f"**{_t(sheet.headline)}**", _list(sheet.answer[1:])]
    blocks += [
        _t(f"{sheet.farm}, from {sheet.origin}. {sheet.visits}"),
        _t(sheet.even),
        *(_t(text) for text in sheet.chance),
    ]
    for crew in sheet.crews:
        blocks += _crew(crew)
    if sheet.left_out:
        blocks.append("## Left out")
        for left in sheet.left_out:
            blocks += _left_out(left)
    blocks += [f"## {_t(sheet.proof)}", _t(sheet.proof_text)]
    blocks += _end(sheet)
    return "\n\n".join(block for block in blocks if block) + "\n"


_t = markdown_text


def _crew(crew: CrewSheet) -> list[str]:
    blocks = [f"## {_t(crew.title)}", _t(crew.under)]
    blocks.append(_list(f"{label}: {value}" for label, value in crew.facts))
    blocks += ["### Itinerary", _itinerary(crew)]
    for trip in crew.trips:
        blocks += [*_load(trip.title, trip.out), *_load(trip.back_title, trip.back), _list(trip.fullest)]
    if crew.call_ins:
        blocks += ["### Working alone: call by", _list(f"{time} {where}" for time, where in crew.call_ins)]
    return blocks


def _itinerary(crew: CrewSheet) -> str:
    head = ("No.", "Site and jobs", "Drive", "Arrive", "Start", "Finish", "Light left", "Load on leaving")
    rows = []
    for stop in crew.stops:
        site = "<br>".join((f"**{_t(stop.name)}**", *(_t(line) for line in (*stop.jobs, *stop.details))))
        drive = f"{stop.drive} {stop.drive_note}".strip()
        rows.append((stop.mark, site, drive, stop.arrive, stop.start, stop.finish, stop.light_left, stop.on_board))
    rows.append(("", "**Home**", f"{crew.home_drive} {crew.home_drive_note}".strip(), crew.home, "", "", "", ""))
    return _table(head, rows)


def _load(title: str, lines: Sequence[LoadLine]) -> list[str]:
    if not lines:
        return []
    rows = [tuple(map(_t, (line.name, line.amount, line.packs, line.weight, line.space))) for line in lines]
    return [f"### {title}", _table(("Material", "Amount", "Packs", "Weight", "Space"), rows)]


def _left_out(left: LeftOutSheet) -> list[str]:
    lines = [*left.jobs, left.text, left.cheapest, *left.remedies]
    return [f"### {_t(left.name)}: {left.reason}", f"({left.standing})", _list(line for line in lines if line)]


def _end(sheet: Sheet) -> list[str]:
    return [block for title, lines in sheet.end if lines for block in (f"## {title}", _list(lines))]


def _list(lines: Iterable[str]) -> str:
    return "\n".join(f"- {_t(line)}" for line in lines)


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return a table of cells that are escaped already."""
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)
