"""The round as one HTML page for paper and screen, complete in itself."""

from __future__ import annotations

from routing.round import Round
from routing.share.pages.day_figure import day_figure
from routing.share.pages.inline import content_policy, environment, template_text
from routing.share.safety.trusted import trusted
from routing.share.wording.sheet import round_sheet


def round_page(round_: Round) -> str:
    """Return a page that needs no other file, no script and no network; it prints on A4 and fits a phone."""
    style = (
        template_text("tokens.css")
        + template_text("sheet.css")
        + template_text("page.css")
        + template_text("day_line.css")
    )
    sheet = round_sheet(round_)
    return (
        environment()
        .get_template("page.html")
        .render(
            sheet=sheet,
            days=[day_figure(round_, index, crew) for index, crew in enumerate(sheet.crews)],
            policy=content_policy([style]),
            style=trusted(style),  # our own file; escaping would break its selectors
        )
    )
