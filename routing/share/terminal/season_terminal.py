"""The log, what is due and the feed on the terminal; a text from a user goes in as characters only."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from routing.farm.models import Farm
from routing.plain_words import count, date_words
from routing.season.csv_files import seen_words
from routing.season.due import TO_PLAN, DueItem, State
from routing.season.entries import DISEASE_CAUTION, Cancellation, Entry
from routing.season.outlook import SiteFeed
from routing.season.shopping import ToBuy
from routing.share.safety.safe import plain_name, plain_text

HEADINGS = {
    State.OVERDUE: "Overdue",
    State.DUE: "Due",
    State.SEASON_OVER: "Never done, and the season is over: log it if it was done, or cancel it by name",
    State.UNKNOWN: "Not known: past its day, and the log does not say; not planned",
    State.COMING: "Coming",
}
"""In the order in which they are shown: what is to be done stands first."""
SETTLE = (
    "Log it where it was done (outyard log add FOLDER --site all --kind KIND --on DATE); where it was not, say from "
    "when the log is complete: outyard log begin FOLDER --counts-from DATE"
)
WAITING = "Not yet: one after the other, never on the same hives together"
LABEL = "A medicine's label decides: where it allows both, say so in farm.toml (not_with = [] under its job kind)."
NOTHING = "Nothing is overdue, due or coming."
FEED_ESTIMATE = (
    "Feed is an estimate: stores are carried forward from the last heft with published winter use, more in mild "
    "weather and with brood. Some colonies are lighter than any figure here: heft each hive when you feed, and give "
    "more to the light ones."
)
MOST_LINES = 2
"""A rule whose sites have more due dates and reasons than this has them in one line, without the reasons."""
MANY_SITES = 3
"""All sites are called so where there are more."""


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
    _line(console, _in_short(items))
    sites = sum(site.colonies > 0 for site in farm.sites)
    for state, heading in HEADINGS.items():
        shown = [item for item in items if item.state is state and not item.waits and not item.in_passing]
        lines = list(_due_lines(shown, sites))
        _block(console, heading, [*lines, *([SETTLE] if lines and state is State.UNKNOWN else [])])
        if state is State.DUE:
            _block(console, WAITING, _waiting(items, sites))
            _block(console, "In passing, where a visit is made anyway", _passing(items, sites))
    names = {site.id: site.name for site in farm.sites}
    seen = [f"{plain_name(names.get(site, site))}, seen on {date}" for site, date in suspects]
    _block(console, "Suspect brood, no inspector's all-clear logged", [*seen, *([DISEASE_CAUTION] if seen else [])])
    _block(console, f"Rows of {plain_text(farm.tables.jobs)}", [plain_text(row) for row in rows])
    kinds = dict.fromkeys(item.kind for item in items if item.state in TO_PLAN and not item.waits)
    _block(console, "Cautions", dict.fromkeys(text for kind in kinds for text in farm.job_kinds[kind].cautions))


def _in_short(items: Sequence[DueItem]) -> str:
    """Return how much is to be done, in one sentence."""
    items = [item for item in items if not item.waits]
    counted = [f"{sum(item.state is state for item in items)} {state.value}" for state in (State.OVERDUE, State.DUE)]
    sites = len({item.site for item in items if item.state in TO_PLAN})
    if sites:
        return f"{' and '.join(told for told in counted if not told.startswith('0 '))}, at {count(sites, 'site')}."
    return "Nothing is overdue or due." if items else NOTHING


def _waiting(items: Sequence[DueItem], sites: int) -> Iterable[str]:
    """Yield a line for each rule and what it waits for; the label of a medicine decides, so it is said once."""
    alike: dict[tuple[str, str], list[DueItem]] = {}
    for item in items:
        if item.waits:
            alike.setdefault((item.rule, item.waits), []).append(item)
    for found in alike.values():
        first = found[0]
        head = f"{plain_name(first.kind_name)} [{plain_name(first.rule)}], {first.rank}"
        yield f"{head}, {plain_text(first.waits)}: {_sites(found, sites)}"
    if alike:
        yield LABEL


def _passing(items: Sequence[DueItem], sites: int) -> Iterable[str]:
    kinds: dict[str, list[DueItem]] = {}
    for item in items:
        if item.in_passing:
            kinds.setdefault(item.kind_name, []).append(item)
    return (
        f"{plain_name(kind)}, by {min(item.due for item in found)}: {_sites(found, sites)}"
        for kind, found in kinds.items()
    )


def print_feed(
    feeds: Sequence[SiteFeed], shopping: Sequence[ToBuy], farm: Farm, on: dt.date, weeks: int, console: Console
) -> None:
    """Print which sites must be fed first, what to order, and then each site's stores."""
    _line(console, f"{plain_name(farm.name)}: stores and feed on {date_words(on)}", "bold")
    first = [_first_line(feed, farm, on) for feed in feeds if feed.low_on]
    _block(console, "Feed first", first or ["No site that was hefted runs low before forage comes in."])
    _block(console, "Heft first: nothing is known", _unhefted(feeds))
    _block(console, f"What the next {count(weeks, 'week')} take", [_buy_line(line, on) for line in shopping])
    _block(console, "Site by site", [_site_line(feed) for feed in feeds if feed.hefted_on])
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
        ("seen: " + seen_words(entry).replace(" ", ", ")) if entry.seen else "",
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


def _due_lines(items: Sequence[DueItem], sites: int) -> Iterable[str]:
    """Yield a line for each rule with all its sites, or two where days and reasons differ; the worst comes first."""
    rules: dict[str, list[DueItem]] = {}
    for item in items:
        rules.setdefault(item.rule, []).append(item)
    for found in rules.values():
        alike: dict[tuple[dt.date, str], list[DueItem]] = {}
        for item in found:
            alike.setdefault((item.due, item.why), []).append(item)
        head = f"{plain_name(found[0].kind_name)} [{plain_name(found[0].rule)}], {found[0].rank}"
        if len(alike) <= MOST_LINES:
            for (_, why), some in alike.items():
                told = "" if why == f"by {some[0].due}" else f" ({why})"
                yield f"{head}, {_by(some[0])}{told}: {_sites(some, sites)}"
        else:
            days: dict[dt.date, list[DueItem]] = {}
            for item in found:
                days.setdefault(item.due, []).append(item)
            yield f"{head}: " + "; ".join(f"{_sites(some, sites)} {_by(some[0])}" for some in days.values())


def _by(item: DueItem) -> str:
    late = f", {count(item.days_overdue, 'day')} over" if item.days_overdue and item.state is State.OVERDUE else ""
    return f"by {item.due}{late}"


def _sites(items: Sequence[DueItem], sites: int) -> str:
    """Return the names of the sites, with how many hives are left where that is not all of them."""
    whole = all(item.hives == item.colonies for item in items)
    if whole and len(items) == sites > MANY_SITES:
        return f"all {sites} sites"
    return ", ".join(
        plain_name(item.site_name) + (f" ({item.hives} of {item.colonies} hives)" if item.hives < item.colonies else "")
        for item in items
    )


def _first_line(feed: SiteFeed, farm: Farm, on: dt.date) -> str:
    """Return by when a site must be fed, why, and with how much where that is within the weeks asked for."""
    late = f" ({count((on - feed.low_on).days, 'day')} over)" if feed.low_on and feed.low_on < on else ""
    head = f"{plain_name(feed.name)}: feed by {feed.low_on}{late}"
    level = f"{feed.level_kg:g} kg" if feed.level_kg is not None else "the level"
    if feed.hefted_on is None:
        return f"{head}: heft, and feed to {level}; not hefted since forage ended"
    why = f"from then on at least one colony in ten has less than {level}"
    if not feed.feedings:
        return f"{head}: {why}"
    given = feed.feedings[0]
    material = farm.materials[given.material]
    name = plain_name(material.name)
    amount = f"{given.amount / feed.colonies:g} {material.unit} of {name[:1].lower()}{name[1:]} a colony"
    return f"{head}: {amount}, {given.amount:g} {material.unit} in all; {why}"


def _unhefted(feeds: Iterable[SiteFeed]) -> list[str]:
    names = [f"{plain_name(feed.name)} ({_colonies(feed.colonies)})" for feed in feeds if feed.hefted_on is None]
    return [", ".join(names)] if names else []


def _site_line(feed: SiteFeed) -> str:
    fed = f", fed {feed.fed_on}" if feed.fed_on else ""
    head = f"{plain_name(feed.name)}, {_colonies(feed.colonies)}: hefted {feed.hefted_on}{fed}"
    if not feed.now:
        return f"{head}; forage may have come in since: only a new heft tells"
    now = feed.now
    return (
        f"{head}; now about {now.mean_kg:.1f} kg a colony, "
        f"eight in ten between {now.weakest_kg:.1f} and {now.strongest_kg:.1f} kg"
    )


def _colonies(number: int) -> str:
    return count(number, "colony").replace("colonys", "colonies")


def _buy_line(line: ToBuy, on: dt.date) -> str:
    """Return what to order by when, in packs first, and what it is reckoned from."""
    name, unit = plain_name(line.name), line.unit
    need = f"{line.likely:.4g} {unit} likely" if line.likely < line.needed else f"{line.needed:.4g} {unit}"
    if line.likely < line.needed:
        need += f", {line.needed:.4g} {unit} is enough in nine winters of ten"
    if line.unhefted:
        need += f" ({line.unhefted:.4g} {unit} of it for sites not hefted, supposed to hold little: heft them first)"
    if line.stock is None:
        packs = f", {_packs(line)}" if line.packs else ""
        return f"{name}: {need}{packs}, from {line.need_by}; the stock is not counted in farm.toml: look"
    if line.order_by is None:
        return f"{name}: {need}; {line.stock:g} in stock: enough"
    by = f"by {line.order_by}" if line.order_by > on else "now"
    what = f"{_packs(line)} ({line.to_buy:g} {unit})" if line.packs else f"{line.to_buy:.4g} {unit}"
    return f"{name}: order {what} {by}, needed by {line.need_by}: {need}, {line.stock:g} in stock"


def _packs(line: ToBuy) -> str:
    return f"{line.packs} x {plain_name(line.pack)}" if line.packs != 1 else f"1 {plain_name(line.pack)}"


def _block(console: Console, heading: str, lines: Iterable[str]) -> None:
    lines = list(lines)
    if lines:
        _line(console, "")
        _line(console, heading, "bold")
        for line in lines:
            console.print(Padding(Text(line), (0, 0, 0, 2)))


def _line(console: Console, text: str, style: str = "") -> None:
    console.print(Text(text, style=style))
