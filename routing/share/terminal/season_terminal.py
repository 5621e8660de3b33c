"""The log, what is due and the feed on the terminal; a text from a user goes in as characters only."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from routing.farm.models import Farm
from routing.plain_words import date_words
from routing.season.due import DueItem
from routing.season.entries import Entry
from routing.season.outlook import SiteFeed
from routing.season.shopping import ToBuy
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording.due import due_blocks, in_short
from routing.share.wording.feed import FEED_ESTIMATE, feed_blocks
from routing.share.wording.log_lines import entry_line


def print_due(
    items: Sequence[DueItem],
    farm: Farm,
    on: dt.date,
    suspects: Sequence[tuple[str, dt.date]],
    console: Console,
    rows: Sequence[str] = (),
) -> None:
    """Print what is due on a date, what is to be done first, and the cautions of its job kinds.

    `rows` says which rows of the farm's table of jobs are done.
    """
    _line(console, f"{plain_name(farm.name)}: what is due on {date_words(on)}", "bold")
    _line(console, in_short(items))
    for heading, lines in due_blocks(items, farm, suspects, rows):
        _block(console, heading, lines)


def print_feed(
    feeds: Sequence[SiteFeed], shopping: Sequence[ToBuy], farm: Farm, on: dt.date, weeks: int, console: Console
) -> None:
    """Print which sites must be fed first, what to order, and then each site's stores."""
    _line(console, f"{plain_name(farm.name)}: stores and feed on {date_words(on)}", "bold")
    for heading, lines in feed_blocks(feeds, shopping, farm, on, weeks):
        _block(console, heading, lines)
    _line(console, "")
    _line(console, FEED_ESTIMATE)


def print_log(entries: Sequence[Entry], console: Console) -> None:
    """Print entries, one line each, oldest first."""
    for entry in entries:
        _line(console, entry_line(entry))
    if not entries:
        _line(console, "The log holds nothing.")


def print_lines(lines: Iterable[str], console: Console) -> None:
    """Print sentences, one paragraph each."""
    for line in lines:
        _line(console, plain_text(line))


def _block(console: Console, heading: str, lines: Iterable[str]) -> None:
    lines = list(lines)
    if lines:
        _line(console, "")
        _line(console, heading, "bold")
        for line in lines:
            console.print(Padding(Text(line), (0, 0, 0, 2)))


def _line(console: Console, text: str, style: str = "") -> None:
    console.print(Text(text, style=style))
