"""The log, what is due and the feed on the terminal; a text from a user goes in as characters only."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from routing.farm.models import Farm
from routing.season.due import DueItem, State
from routing.season.entries import DISEASE_CAUTION, Cancellation, Entry
from routing.season.outlook import SiteFeed
from routing.season.shopping import ToBuy
from routing.share.safe import plain_name, plain_text
from routing.words import count, date_words

HEADINGS = {
    State.OVERDUE: "Overdue",
    State.SEASON_OVER: "Never done, and the season is over: log it if it was done, or cancel it by name",
    State.DUE: "Due",
    State.COMING: "Coming",
}
NOTHING = "Nothing is overdue, due or coming."
FEED_ESTIMATE = (
    "Feed is an estimate: stores are carried forward from the last heft with published winter use, more in mild "
    "weather and with brood. The weakest tenth can be lighter than any figure here: heft again, and feed what feels "
    "light."
)


def print_due(
    items: Sequence[DueItem],
    farm: Farm,
    on: dt.date,
    suspects: Sequence[tuple[str, dt.date]],
    console: Console,
) -> None:
    """Print what is due on a date, worst first, what could be done in passing, and the cautions of its job kinds."""
    _line(console, f"{plain_name(farm.name)}: what is due on {date_words(on)}", "bold")
    if not items:
        _line(console, NOTHING)
    for state, heading in HEADINGS.items():
        _block(console, heading, _due_lines(item for item in items if item.state is state))
    passing = [f"{plain_name(item.site_name)}: {plain_name(item.kind_name)}" for item in items if item.in_passing]
    _block(console, "In passing, where a visit is made anyway", passing)
    names = {site.id: site.name for site in farm.sites}
    seen = [f"{plain_name(names.get(site, site))}, seen on {date}" for site, date in suspects]
    _block(console, "Suspect brood, no inspector's all-clear logged", [*seen, *([DISEASE_CAUTION] if seen else [])])
    kinds = dict.fromkeys(item.kind for item in items if item.state is not State.COMING)
    _block(console, "Cautions", dict.fromkeys(text for kind in kinds for text in farm.job_kinds[kind].cautions))


def print_feed(
    feeds: Sequence[SiteFeed], shopping: Sequence[ToBuy], farm: Farm, on: dt.date, weeks: int, console: Console
) -> None:
    """Print each site's stores, when it must be fed next, and what the next weeks take."""
    _line(console, f"{plain_name(farm.name)}: stores and feed on {date_words(on)}", "bold")
    for feed in feeds:
        _line(
            console, f"{plain_name(feed.name)}, {count(feed.colonies, 'colony').replace('colonys', 'colonies')}", "bold"
        )
        for text in _feed_lines(feed, on):
            console.print(Padding(Text(text), (0, 0, 0, 2)))
    _block(console, f"What the next {count(weeks, 'week')} take", [_buy_line(line, on) for line in shopping])
    _line(console, "")
    _line(console, FEED_ESTIMATE)


def print_log(entries: Sequence[Entry], console: Console) -> None:
    """Print entries, one line each, oldest first."""
    for entry in entries:
        _line(console, entry_line(entry))
    if not entries:
        _line(console, "The log holds nothing.")


def entry_line(entry: Entry | Cancellation) -> str:
    """Return an entry or a cancellation in one line of plain words."""
    if isinstance(entry, Cancellation):
        return f"{entry.date} {plain_name(entry.site)}: {plain_name(entry.rule)} due {entry.due} cancelled: " + (
            plain_text(entry.why)
        )
    parts = [
        f"{entry.minutes:g} min" if entry.minutes is not None else "",
        count(entry.people, "person").replace("persons", "people") if entry.people else "",
        count(entry.hives, "hive") if entry.hives is not None else "",
        "not finished" if entry.partly else "",
        f"stores {entry.stores_kg:g} kg" if entry.stores_kg is not None else "",
        f"queen cells {entry.queen_cells}" if entry.queen_cells is not None else "",
        *(f"{amount:g} {plain_name(material)}" for material, amount in entry.materials.items()),
        ("seen: " + ", ".join(entry.seen)) if entry.seen else "",
        f"{plain_name(entry.medicine.product)}, batch {plain_name(entry.medicine.batch)}" if entry.medicine else "",
        plain_text(entry.note),
    ]
    time = f" {entry.time:%H:%M}" if entry.time else ""
    told = "; ".join(part for part in parts if part)
    return f"{entry.date}{time} {plain_name(entry.site)}: {plain_name(entry.kind)}" + (f" ({told})" if told else "")


def print_lines(lines: Iterable[str], console: Console) -> None:
    """Print sentences, one paragraph each."""
    for line in lines:
        _line(console, plain_text(line))


def _due_lines(items: Iterable[DueItem]) -> Iterable[str]:
    """Yield one line for each rule, day and reason, with all its sites; the order is that of the worst of them."""
    sites: dict[str, list[str]] = {}
    for item in items:
        late = f", {count(item.days_overdue, 'day')} over" if item.days_overdue else ""
        line = f"{plain_name(item.kind_name)} [{plain_name(item.rule)}], {item.rank}, by {item.due}{late} ({item.why})"
        sites.setdefault(line, []).append(plain_name(item.site_name))
    return (f"{line}: {', '.join(names)}" for line, names in sites.items())


def _feed_lines(feed: SiteFeed, on: dt.date) -> Iterable[str]:
    if feed.hefted_on is None:
        yield "not hefted since forage ended: nothing is known; heft first"
        return
    fed = f", fed {feed.fed_on}" if feed.fed_on else ""
    if feed.now:
        now = feed.now
        yield (
            f"hefted {feed.hefted_on}{fed}; now about {now.mean_kg:.1f} kg a colony, "
            f"eight in ten between {now.weakest_kg:.1f} and {now.strongest_kg:.1f} kg"
        )
    else:
        yield f"hefted {feed.hefted_on}{fed}; forage may come in: only a new heft tells"
    if feed.low_on and feed.level_kg is not None:
        late = " (overdue)" if feed.low_on < on else ""
        yield f"feed by {feed.low_on}{late}: then the weakest tenth is below {feed.level_kg:g} kg"


def _buy_line(line: ToBuy, on: dt.date) -> str:
    name = plain_name(line.name)
    need = f"{name}: {line.needed:g} {line.unit}"
    if line.stock is not None and line.order_by is None:
        return f"{need}; {line.stock:g} in stock: enough"
    packs = f" = {count(line.packs, plain_name(line.pack))}" if line.packs else ""
    if line.packs and line.packs > 1:
        packs = f" = {line.packs} x {plain_name(line.pack)}"
    if line.stock is None or line.order_by is None:
        return f"{need}{packs} from {line.need_by}; the stock is not counted in farm.toml: look"
    by = f"by {line.order_by}" if line.order_by > on else "now"
    return f"{need}; {line.stock:g} in stock: order {line.to_buy:g} {line.unit}{packs} {by}, needed by {line.need_by}"


def _block(console: Console, heading: str, lines: Iterable[str]) -> None:
    lines = list(lines)
    if lines:
        _line(console, "")
        _line(console, heading, "bold")
        for line in lines:
            console.print(Padding(Text(line), (0, 0, 0, 2)))


def _line(console: Console, text: str, style: str = "") -> None:
    console.print(Text(text, style=style))
