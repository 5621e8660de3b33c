"""The day line as pages show it: one picture for a phone's width, one for paper and wide screens, and the key."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from routing.round import Round
from routing.share.pages.day_line_svg import PAPER, PHONE, day_line_svg, shown_kinds
from routing.share.wording.day_line import DayLine, SpanKind, day_line
from routing.share.wording.sheet_crew import CrewSheet

if TYPE_CHECKING:
    from markupsafe import Markup


@dataclass(frozen=True)
class DayFigure:
    """Both pictures of one day, of which a page shows one, and what is in them."""

    phone: Markup
    paper: Markup
    key: list[tuple[SpanKind, str]]


def day_figure(round_: Round, index: int, crew: CrewSheet) -> DayFigure:
    """Return the figure of the itinerary at `index`, whose words are `crew`."""
    return figure_of(day_line(round_, index, crew))


def figure_of(line: DayLine) -> DayFigure:
    """Return the figure of a day line."""
    return DayFigure(day_line_svg(line, PHONE), day_line_svg(line, PAPER), shown_kinds(line))
