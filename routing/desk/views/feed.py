"""How long stores last, what must be fed first, and what to order."""

from __future__ import annotations

from starlette.responses import Response

from routing import stages
from routing.desk.given import Given
from routing.desk.serving import page, shown
from routing.desk.state import Desk, today
from routing.plain_words import date_words
from routing.share.wording.feed import FEED_ESTIMATE, feed_blocks

HERE = "/feed"
WEEKS, MOST_WEEKS = 6, 52
MOST_SHOWN = 8
"""So many lines of a list stand open, the most urgent; the others are folded with their count."""


def feed(desk: Desk, given: Given) -> Response:
    """Show the forecast of stores and the shopping list for so many weeks."""
    farm = desk.farm()
    date, weeks = given.date("on") or today(farm), given.whole("weeks", 1, MOST_WEEKS) or WEEKS
    feeds, shopping = stages.due.feed(farm, date, weeks)
    values = {
        "on": date.isoformat(),
        "day": date_words(date),
        "weeks": weeks,
        "most": MOST_WEEKS,
        "blocks": feed_blocks(feeds, shopping, farm, date, weeks),
        "estimate": FEED_ESTIMATE,
        "most_shown": MOST_SHOWN,
    }
    return page(desk, "feed.html", values, title="Feed", here=HERE)


ROUTES = [shown(HERE, feed)]
