"""The rules of the year: when job kinds fall due, and how stores go down."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from routing.farm.basics import Figure, Frozen, Rank

MonthDay = Annotated[str, Field(pattern=r"^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$")]
"""`10-31`: a day of every year, as it falls in the northern half of the world; six months later in the southern."""


class DueRule(Frozen):
    """When a job kind falls due. Exactly one of `every_days`, `by`, `after` and `stores_below_kg` says how.

    every_days, between `starts` and `ends`; once, from `starts` by `by`; `after` something logged, within `starts` and
    `ends` where it names them; stores below.
    """

    id: str
    job: str
    rank: Rank = Rank.WANT
    source: str
    """Where the dates come from."""
    every_days: Figure | None = None
    early_days: int = Field(default=0, ge=0, le=60)
    """So many days before it is due again it may be done where a visit is made anyway."""
    starts: MonthDay = "01-01"
    by: MonthDay | None = None
    ends: MonthDay = "12-31"
    """After this there is no more sense in it that season."""
    before_frost: bool = False
    low_sites_days_earlier: int = Field(default=0, ge=0, le=60)
    after: str = ""
    """A job kind that was done, an event such as `storm`, or something seen, such as `stores-low`."""
    earliest_days: Figure | None = None
    latest_days: Figure | None = None
    hives: Literal["all", "seen"] = "all"
    """For `after`: all colonies of the site, or as many as it was done to or seen in (one where no number was said)."""
    closed_by: tuple[str, ...] = ()
    """Job kinds that close it besides its own."""
    needs_stores_kg: bool = False
    """Whether only an entry that says the kilograms closes it."""
    stores_below_kg: Figure | None = None
    """Due when the weakest tenth of a site's colonies is reckoned to hold less."""
    now_below_kg: Figure | None = None
    """With `stores_below_kg`: the rank is `now` while the weakest tenth is reckoned to hold less than this."""
    fed_by: MonthDay | None = None
    """With `stores_below_kg`: less is no matter before this day, and from `starts` on it may be fed. Where no heft
    tells the stores it is due on this day too. Without it the level holds from `starts`, and no unknown site is due."""


class FeedRules(Frozen):
    """How stores go down from one heft or feed to the next; kilograms a colony."""

    use_kg_a_day: Figure
    """Without brood, at a mean of `use_at_c` degrees Celsius."""
    use_at_c: Figure
    use_spread_share: Figure
    """Standard deviation of a colony's use as a share of it: its habit, kept all winter."""
    site_use_share: Figure
    """The same of a whole site's use against what is reckoned."""
    warmer_kg_a_day: Figure
    """So much more for each degree that the air is warmer on average (and less for each colder)."""
    least_kg_a_day: Figure
    brood_kg_a_day: Figure
    """So much more where a colony broods in full."""
    brood_share: tuple[float, ...] = Field(min_length=12, max_length=12)
    """From January: how much of its full brood a colony keeps in that month."""
    brood_share_source: str
    mean_c: tuple[float, ...] = Field(min_length=12, max_length=12)
    """From January: the month's mean temperature where the farm is."""
    mean_c_source: str
    warmer_by_c: float = Field(default=0.0, ge=-20, le=20)
    """This winter is so many degrees warmer than `mean_c`, on days that no forecast tells."""
    winter_spread_c: Figure
    """Standard deviation of a winter's mean temperature from year to year."""
    colony_spread_kg: Figure
    """Standard deviation of the stores of a site's colonies up to `spread_from`; use widens it from then on, and
    neither a heft nor a feed that is alike for all narrows it."""
    spread_from: MonthDay
    heft_error_kg: Figure
    """Standard deviation of the error of the mean, where all colonies of a site are hefted."""
    unknown_kg: Figure
    """What a colony is supposed to hold, for orders and autumn feed, where no heft tells."""
    unknown_spread_kg: Figure
    """Standard deviation of a site's mean around that."""
    stores_kg_a_unit: dict[str, Figure]
    """What one unit of each feed counts for as stores."""
    most_a_feed: dict[str, Figure]
    """Units of each feed that a colony is given at once at the most."""
    feed_lasts_days: Figure
    """A feed is so large that the weakest tenth keeps to the level for so long: to the next planned visit."""
    days_between_feeds: Figure
    """The bees take down a feed in so many days; before that no other is due."""
    starts: MonthDay
    ends: MonthDay
    """Stores are carried forward between these; outside, forage comes in and only a new heft tells."""
    order_days: Figure
    """Feed must be ordered so many days before it is needed."""


class SeasonRules(Frozen):
    """The rules of the year."""

    due: dict[str, DueRule]
    feed: FeedRules
    queens: Literal["unclipped", "clipped"] = "unclipped"
    first_frost: MonthDay
    first_frost_source: str
    low_sites: frozenset[str] = frozenset()
    """Sites whose hives stand low on the ground: mice and damp get there first."""
