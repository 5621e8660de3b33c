"""An invented half-year of six sites."""

import datetime as dt

from routing.share.wording.season import Entry, FeedRow, MinutesRow, Season, State

TODAY = dt.date(2026, 12, 2)
FIRST, LAST = dt.date(2026, 10, 5), dt.date(2027, 3, 28)
SITES = ("Mill Bank", "Long Meadow", "Quarry Top", "Hollow Farm", "Church Orchard", "Upper Dingle")


def sample_season(**changes: object) -> Season:
    """Return the season; each change takes the place of a field."""
    entries = []
    for number, site in enumerate(SITES):
        entries.append(Entry(site, "Fit mouse guards", dt.date(2026, 10, 12 + number), State.DONE))
        entries.append(Entry(site, "Heft and check stores", dt.date(2026, 11, 2 + number), State.DONE))
        state = State.OVERDUE if number in {1, 4} else State.DONE
        entries.append(Entry(site, "Heft and check stores", dt.date(2026, 11, 23 + number), state))
        entries.append(Entry(site, "Heft and check stores", dt.date(2026, 12, 14 + number), State.DUE))
        entries.append(Entry(site, "Oxalic acid, trickled", dt.date(2026, 12, 18), State.DUE))
        entries.append(Entry(site, "Feed fondant", dt.date(2027, 1, 11 + number), State.DUE))
    entries.append(Entry("Quarry Top", "Fit woodpecker netting", dt.date(2026, 11, 24), State.CANCELLED))
    days = tuple(FIRST + dt.timedelta(days=7 * week) for week in range(25))
    feed = tuple(
        FeedRow(
            site=site,
            dates=days,
            middle_kg=tuple(22 - number - 0.55 * week for week in range(25)),
            low_kg=tuple(max(0, 20 - number - 0.75 * week) for week in range(25)),
            high_kg=tuple(24 - number - 0.35 * week for week in range(25)),
            feed_below_kg=(20,) * 5 + (8,) * 20,
        )
        for number, site in enumerate(SITES[:3])
    )
    visits = tuple((FIRST + dt.timedelta(days=5 * n), 2.2 + 0.9 * ((n * 7) % 5) / 5) for n in range(11))
    minutes = (
        MinutesRow("Heft and check stores", 3, 2.61, visits),
        MinutesRow("Fit mouse guards", 2, 2.4, visits[:3]),
        MinutesRow("Oxalic acid, trickled", 3, None, ()),
    )
    facts: dict[str, object] = {
        "farm": "Hollin Vale bees",
        "today": TODAY,
        "first": FIRST,
        "last": LAST,
        "sites": SITES,
        "entries": tuple(entries),
        "minutes": minutes,
        "feed": feed,
    }
    return Season(**{**facts, **changes})  # type: ignore[arg-type]  # a test changes what it likes
