"""Invented winters in which a farm does what it is told: how many colonies starve, and whether the feed ordered lasts.

It shares no code with the feed model, which is asked only for what a farmer reads: by when to feed, how much the job
takes, what to order. What is true here, and where each number comes from:

- 1 September: a site's mean is 12 +/- 3 kg, its colonies differ by 2.5 kg around it (no published spread was found: assumed).
- A colony uses 0.039 kg a day at 3.5 degrees without brood, times its own habit, normal about 1 with a standard
  deviation of 0.013 / 0.039 (32 colonies, Norrstroem et al., PLOS ONE 16(10) e0258398, 2021), times its site's, +/- 0.1
  (assumed); never below 0.026 times both (0.039 - 0.013).
- Each degree more adds 0.004 to 0.0106 kg, alike likely: 0.0106 is (0.056 - 0.039) / (5.1 - 3.5) of a scale hive in
  Denmark, November and December 2013 (meadloflife blog); 0.0072 a mild January (lincsbee blog, 2014); 0.004 assumed.
- Brood adds up to 0.057 kg a day (0.7 kg a week against 0.3: beginner-beekeeping.co.uk/winter-feeding). It goes to
  nothing from about 15 September to 20 November and comes back within 30 days from about 10 February, each give or take
  10 days from site to site (steeper from mid-February: britishbeevets.com; the days assumed).
- Air: the monthly means of central England 1991-2020 (from memory), a whole winter +/- 1.2 degrees around them, and days
  that stray by 3 degrees and forget a seventh of it from day to day (assumed).
- A heft tells the mean of the living colonies, off by 0.9 kg for who hefts that day (assumed) and by 1 kg for each hive
  (weighed front and back, give or take 1 kg: imker-dorfen.de, Feb 2021), to the half kilogram.
- No forage before 30 April. A kilogram of fondant is a kilogram of stores, a litre of syrup 0.8.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from routing.farm.models import Farm
from routing.season.due import Asked
from routing.season.entries import Entry, Record
from routing.season.jobs import with_due_jobs
from routing.season.outlook import SiteFeed, feed_outlook
from routing.season.shopping import shopping_list
from tests.season.small_farm import make_farm

Array = NDArray[np.float64]
FIRST, LAST = dt.date(2026, 9, 1), dt.date(2027, 4, 30)
DAYS = (LAST - FIRST).days + 1
DAY = dt.timedelta(days=1)
HEFTS_FROM, HEFTS_TO = dt.date(2026, 10, 1), dt.date(2027, 4, 10)
WINDOW_WEEKS = 6
MEAN_C = (4.7, 5.0, 6.6, 9.0, 11.9, 14.7, 16.8, 16.5, 14.0, 10.8, 7.4, 5.0)
SPREAD_OF_USE = 0.013 / 0.039
STORES_KG = {"fondant": 1.0, "syrup": 0.8}
MOST_UNITS = {"fondant": 12.5, "syrup": 10.0}
"""So much a colony takes at once: a block, and a feeder filled twice."""
OTHER_RULES = (
    *("first-inspection", "weekly-inspection", "supers-on", "clearer-boards", "supers-off", "strips-in", "strips-out"),
    *("mouse-guards", "entrance-blocks", "woodpecker-netting", "insulation", "oxalic", "storm-check", "guards-off"),
    "floor-change",
)


@dataclass(frozen=True)
class Winter:
    """What a run of winters is like."""

    farms: int = 10
    sites: int = 10
    colonies: int = 8
    warmer_c: float = 0.0
    """All days are so much warmer than the rules of the farm know."""
    heft_days: int | None = 14
    """A heft at every site so often from October to 10 April, as the due rule has it; None for none but the first."""
    autumn_heft: bool = True
    """Whether the sites are hefted on 1 September; else first on 1 October."""
    spread_kg: float = 2.5
    heft_kg: float = 0.9
    """How far off whoever hefts is on a day, one standard deviation."""
    long_tail: bool = False
    """Whether the habits of colonies are log-normal instead of normal: one in ninety uses more than twice the mean."""
    light_more: bool = False
    """What a site is given in all goes out helping by helping to the hive that is lightest then, each hefted by hand."""
    more: str = ""
    """More of farm.toml."""
    told_warmer: bool = False
    """Whether farm.toml says how much warmer the winter is."""


@dataclass
class Tally:
    """What became of it."""

    colonies: int = 0
    starved: int = 0
    sites: int = 0
    hit: int = 0
    """Sites of which a colony starved."""
    at_feed_by: int = 0
    """Colonies of sites on the day that had been told as `feed by`."""
    below: int = 0
    """Those that held less than the level told."""
    told: int = 0
    """Colonies of sites whose weakest tenth was told on the first day of a window."""
    below_told: int = 0
    feeds: int = 0
    windows: list[tuple[float, float]] = field(default_factory=list)
    """At hand with what was ordered, and used, of one feed in one window in which it was used."""
    unused: int = 0
    """Windows for which a feed was ordered that was not used."""

    @property
    def starved_share(self) -> float:
        return self.starved / self.colonies

    @property
    def hit_share(self) -> float:
        return self.hit / self.sites

    @property
    def below_share(self) -> float:
        return self.below / self.at_feed_by if self.at_feed_by else float("nan")

    @property
    def below_told_share(self) -> float:
        return self.below_told / self.told if self.told else float("nan")

    @property
    def enough_share(self) -> float:
        return sum(used <= there + 1e-6 for there, used in self.windows) / max(1, len(self.windows))

    @property
    def covered_share(self) -> float:
        return sum(there for there, _ in self.windows) / max(1e-9, sum(used for _, used in self.windows))


class Truth:
    """The colonies of one farm through one winter, as nobody sees them."""

    def __init__(self, winter: Winter, chance: np.random.Generator) -> None:
        self.chance, self.heft_kg = chance, winter.heft_kg
        shape = (winter.sites, winter.colonies)
        mean = np.clip(chance.normal(12, 3, (winter.sites, 1)), 4, 25)
        self.kg = np.maximum(1.0, mean + chance.normal(0, winter.spread_kg, shape))
        self.alive = np.ones(shape, dtype=bool)
        habit = np.maximum(0.2, chance.normal(1, SPREAD_OF_USE, shape))
        if winter.long_tail:
            sigma = np.sqrt(np.log(1 + SPREAD_OF_USE**2))
            habit = chance.lognormal(-(sigma**2) / 2, sigma, shape)
        self.habit = habit * np.maximum(0.2, chance.normal(1, 0.1, (winter.sites, 1)))
        slope = chance.uniform(0.004, 0.0106)
        base = np.maximum(0.026, 0.039 + slope * (self._air(winter) - 3.5))
        self.use = base[None, :] + 0.057 * self._brood(winter.sites)

    def _air(self, winter: Winter) -> Array:
        noise = np.zeros(DAYS)
        keep = 6 / 7
        for day in range(DAYS):
            fresh = self.chance.normal(0, 3 * np.sqrt(1 - keep**2))
            noise[day] = keep * noise[day - 1] + fresh if day else self.chance.normal(0, 3)
        usual = np.array([MEAN_C[(FIRST + DAY * day).month - 1] for day in range(DAYS)])
        return usual + noise + self.chance.normal(0, 1.2) + winter.warmer_c

    def _brood(self, sites: int) -> Array:
        days = np.arange(DAYS)[None, :]
        ebbs = 14 + self.chance.normal(0, 10, (sites, 1))
        gone = 80 + self.chance.normal(0, 10, (sites, 1))
        back = 162 + self.chance.normal(0, 10, (sites, 1))
        autumn = np.clip((gone - days) / np.maximum(20, gone - ebbs), 0, 1)
        return autumn + np.clip((days - back) / 30, 0, 1)

    def live(self, day: int) -> None:
        self.kg -= self.use[:, [day]] * self.habit
        self.alive &= self.kg > 0
        self.kg[~self.alive] = 0

    def hefted(self) -> list[float]:
        return [self._heft(site) for site in range(len(self.kg))]

    def _heft(self, site: int) -> float:
        kg = self.kg[site][self.alive[site]]
        error = self.chance.normal(0, self.heft_kg) + self.chance.normal(0, 1.0, max(1, len(kg))).mean()
        return max(0.0, round(2 * ((kg.mean() if len(kg) else 0.0) + error)) / 2)

    def feed(self, site: int, kg: float) -> None:
        self.kg[site] += kg * self.alive[site]

    def feed_the_light(self, site: int, helping_kg: float, helpings: int, most: int) -> None:
        """Give so many helpings a living colony in all, one after the other to the lightest by a heft of each hive."""
        felt = np.where(self.alive[site], self.kg[site] + self.chance.normal(0, 1.0, self.kg[site].shape), np.inf)
        given = np.zeros(felt.shape)
        for _ in range(helpings * int(self.alive[site].sum())):
            lightest = int(np.argmin(np.where(given < most, felt, np.inf)))
            felt[lightest] += helping_kg
            given[lightest] += 1
        self.kg[site] += helping_kg * given * self.alive[site]


def farm_of(winter: Winter, folder: Path) -> Farm:
    """Return a farm of the size, with no rules but those of feed and hefts."""
    rows = [f"s{n},Site {n},{52 + n / 100:.2f} -2.7,{winter.colonies}" for n in range(winter.sites)]
    more = winter.more + "".join(f"[due.{rule}]\nwanted = false\n" for rule in OTHER_RULES)
    more += f"[feed]\nwarmer_by_c = {winter.warmer_c}\n" if winter.told_warmer else ""
    return make_farm(
        folder, more + "[stock]\nfondant = 0\nsyrup = 0\n", sites="id,name,place,hives\n" + "\n".join(rows)
    )


class Keeper:
    """A farmer who does what is told on the day it is told, and writes it down."""

    def __init__(self, farm: Farm, winter: Winter, truth: Truth, tally: Tally) -> None:
        self.farm, self.winter, self.truth, self.tally = farm, winter, truth, tally
        self.entries: tuple[Entry, ...] = (Entry(date=FIRST, site="s0", kind="storm-check"),)
        self.stock = {"fondant": 0.0, "syrup": 0.0}
        self.there: dict[str, float] = {}
        self.used: dict[str, float] = {}
        self.told: dict[str, SiteFeed] = {}
        self.fresh: set[str] = set()
        """Sites of which something was written today: what is told of them was not told before."""

    def winter_through(self) -> None:
        for day in range(DAYS):
            date = FIRST + DAY * day
            self.fresh = set()
            if not day % (7 * WINDOW_WEEKS):
                self._settle()
            if self._hefts(date):
                for site, kg in enumerate(self.truth.hefted()):
                    self._write(Entry(date=date, site=f"s{site}", kind="heft", stores_kg=kg))
            if not self.told or self.fresh or not day % (7 * WINDOW_WEEKS):
                self._ask(date)
            if not day % (7 * WINDOW_WEEKS):
                self._order(date)
            if any(feed.low_on and feed.low_on <= date for feed in self.told.values()):
                self._feed(date)
                self._ask(date)
            self.truth.live(day)
        self._settle()
        self._count()

    def _hefts(self, date: dt.date) -> bool:
        if date == FIRST:
            return self.winter.autumn_heft
        if date == HEFTS_FROM:
            return not self.winter.autumn_heft or self.winter.heft_days is not None
        every = self.winter.heft_days
        return every is not None and HEFTS_FROM < date <= HEFTS_TO and not (date - HEFTS_FROM).days % every

    def _write(self, entry: Entry) -> None:
        self.entries = (*self.entries, entry)
        self.fresh.add(entry.site)

    def _asked(self, date: dt.date) -> Asked:
        return Asked(self.farm.model_copy(update={"stock": dict(self.stock)}), Record(entries=self.entries), date)

    def _ask(self, date: dt.date) -> None:
        self.told = {feed.site: feed for feed in feed_outlook(self._asked(date), 1)}

    def _feed(self, date: dt.date) -> None:
        jobs = with_due_jobs(self._asked(date)).jobs
        for number in range(self.winter.sites):
            feed = self.told[f"s{number}"]
            if feed.low_on is None or feed.low_on > date:
                continue
            if feed.low_on == date and feed.site not in self.fresh and date > HEFTS_FROM and feed.level_kg:
                alive = self.truth.alive[number]
                self.tally.at_feed_by += int(alive.sum())
                self.tally.below += int((self.truth.kg[number][alive] < feed.level_kg).sum())
            due = [job for job in jobs if job.site == feed.site and job.kind in STORES_KG and job.due_by]
            for job in [one for one in due if one.due_by and one.due_by <= date][:1]:
                helping = sum(use.a_hive.value for use in self.farm.job_kinds[job.kind].takes)
                units = helping * job.helpings
                self.tally.feeds += 1
                self.used[job.kind] = self.used.get(job.kind, 0.0) + units * job.hives
                self.stock[job.kind] = max(0.0, self.stock[job.kind] - units * job.hives)
                if self.winter.light_more:
                    most = int(MOST_UNITS[job.kind] / helping)
                    self.truth.feed_the_light(number, helping * STORES_KG[job.kind], job.helpings, most)
                else:
                    self.truth.feed(number, units * STORES_KG[job.kind])
                self._write(Entry(date=date, site=job.site, kind=job.kind, materials={job.kind: units * job.hives}))

    def _order(self, date: dt.date) -> None:
        for line in shopping_list(self._asked(date), WINDOW_WEEKS):
            if line.material in self.stock:
                self.stock[line.material] += line.to_buy
        self.there = dict(self.stock)
        for number in range(self.winter.sites):
            now = self.told[f"s{number}"].now
            if now and now.weakest_kg > 0 and f"s{number}" not in self.fresh:
                alive = self.truth.alive[number]
                self.tally.told += int(alive.sum())
                self.tally.below_told += int((self.truth.kg[number][alive] < now.weakest_kg).sum())

    def _settle(self) -> None:
        for material in STORES_KG:
            used = self.used.get(material, 0.0)
            if used:
                self.tally.windows.append((self.there.get(material, 0.0), used))
            elif self.there.get(material, 0.0):
                self.tally.unused += 1
        self.used = {}

    def _count(self) -> None:
        dead = ~self.truth.alive
        self.tally.colonies += dead.size
        self.tally.starved += int(dead.sum())
        self.tally.sites += len(dead)
        self.tally.hit += int(dead.any(axis=1).sum())


def winters(winter: Winter, folder: Path, seed: int) -> Tally:
    """Return what became of as many farms as the run has."""
    farm, tally = farm_of(winter, folder), Tally()
    for chance in _chances(winter.farms, seed):
        Keeper(farm, winter, Truth(winter, chance), tally).winter_through()
    return tally


def _chances(farms: int, seed: int) -> Iterator[np.random.Generator]:
    return (np.random.default_rng([seed, number]) for number in range(farms))
