"""What a small farm allows over all its crew-days, found by looking at everything."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction

from routing.farm.models import Farm
from tests.hard.outing import Outing
from tests.hard.world import CrewDay, Relax, Work, World

Best = dict[int, tuple[int, int]]
"""By the mask of jobs that are done, the least (time away, metres) of all crew-days together."""

May = Callable[[Work, CrewDay], bool]


class Oracle:
    """All rounds of a small farm on some dates."""

    def __init__(
        self, farm: Farm, dates: Sequence[dt.date], listed: Iterable[str] = (), relax: Relax | None = None
    ) -> None:
        self.world = World(farm, dates, listed, relax)
        self.outings = tuple(Outing(self.world, day) for day in self.world.days)
        self._tables: dict[bool, list[Best]] = {}

    def tables(self, *, wide: bool = False) -> list[Best]:
        """Return what each crew-day can do."""
        if wide not in self._tables:
            if wide and not self.many_stops_differ:
                return self.tables()
            self._tables[wide] = [outing.table(wide=wide) for outing in self.outings]
        return self._tables[wide]

    @property
    def many_stops_differ(self) -> bool:
        """Whether a site has jobs enough for two stops in one window."""
        sites = [work.job.site for work in self.world.works if not work.job.to]
        return len(sites) > len(set(sites))

    def best(self, may: May | None = None, *, wide: bool = False) -> Best:
        """Return all that can be done; `may` says which jobs on which crew-days."""
        found: Best = {0: (0, 0)}
        for outing, table in zip(self.outings, self.tables(wide=wide), strict=True):
            allowed = self.world.everything
            if may is not None:
                allowed = sum(work.bit for work in self.world.works if may(work, outing.day))
            found = self._joined(found, {mask: cost for mask, cost in table.items() if not mask & ~allowed})
        return {mask: cost for mask, cost in found.items() if self.world.in_store(mask)}

    def holds(self, mask: int, *, wide: bool = True) -> bool:
        """Return whether some round does all these jobs, perhaps with others."""
        return any(done & mask == mask for done in self.best(wide=wide))

    def does(self, mask: int, *, wide: bool = False) -> bool:
        """Return whether some round does exactly these jobs; looked at only those, so quickly."""
        if not self.world.in_store(mask):
            return False
        if len(self.outings) == 1:
            return mask == 0 or mask in self.outings[0].table(mask, wide=wide, whole=True)
        found: Best = {0: (0, 0)}
        for outing in self.outings:
            found = self._joined(found, outing.table(mask, wide=wide))
        return mask in found

    def top(self, rounds: Best) -> tuple[Fraction, ...]:
        """Return the best weight by rank, ranks compared in turn."""
        return max(self.world.score(mask) for mask in rounds)

    def words(self, mask: int) -> str:
        """Return the jobs of a mask, and the best day that does them where one crew does them all."""
        jobs = ", ".join(f"{work.job.site} {work.kind.id}" for work in self.world.of(mask)) or "nothing"
        days = [words for outing in self.outings if (words := outing.words(mask))]
        return f"{jobs} {days[0]}" if days else jobs

    @staticmethod
    def _joined(one: Best, other: Best) -> Best:
        found = dict(one)
        for first, (away, metres) in one.items():
            for second, (more, further) in other.items():
                if not first & second:
                    both, cost = first | second, (away + more, metres + further)
                    if both not in found or cost < found[both]:
                        found[both] = cost
        return found
