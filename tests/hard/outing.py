"""One crew's day: the times of given stops, and the best day of every set of jobs, by rules 3, 4, 5, 10 and 15.

For fixed stops, returns and gap of the break, the instant at which the crew is done with some stop depends on the
departure t as max(t + slack, floor): every drive, work, loading and break adds to both, and a wait for a window raises the
floor. Being late at a window, or for the break, keeps t within [low, high]. So home is earliest at t = low, and the
latest departure with that home is low itself where t + slack is the larger, else where the two meet (or high). That
is also the least time away, since home - t never grows with t up to there and never falls after.
`scanned` does the same by trying the departure of every second.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tests.hard.cargo import Cargo
from tests.hard.complaint import clock
from tests.hard.world import Call, CrewDay, World

NEVER = -(10**12)

Way = tuple[int, int, int, int, int, int, int, tuple[int, ...]]
"""Slack, floor, low, high, gap of the break or -1, whether its host is marked, metres, stops before which base is."""


@dataclass(frozen=True)
class Timed:
    """The times of a day; `gap` is the stop before whose work the break is taken, -1 where there is none."""

    leave: int
    home: int
    metres: int
    gap: int
    marked_host: bool
    cuts: tuple[int, ...]
    """The stops before which the crew comes back to base."""

    @property
    def away(self) -> int:
        """Seconds from leaving base to coming home."""
        return self.home - self.leave

    @property
    def key(self) -> tuple[int, int, int, int]:
        """What is best of all returns and gaps of given stops."""
        return (self.away, self.metres, -self.leave, len(self.cuts))


class Outing:
    """Works out the days of one crew on one date."""

    def __init__(self, world: World, day: CrewDay) -> None:
        self.world, self.day = world, day
        self.calls = world.calls(day)
        self.made: dict[int, tuple[tuple[Call, ...], Timed]] = {}
        """By the set of jobs, the best stops that were met and their times."""
        self._cargo = Cargo(world, day)
        self.light = self._cargo.everything_fits()
        """Whether one trip carries all that the farm wants, in whatever order."""

    def table(
        self, wanted: int | None = None, *, wide: bool = False, whole: bool = False
    ) -> dict[int, tuple[int, int]]:
        """Return for every set of jobs that the day can hold the least (time away, metres).

        Each site has at most one stop in one window, any number where `wide`. Only jobs of `wanted` are looked at; where
        `whole` only all of them together.
        """
        wanted = self.world.everything if wanted is None else wanted
        calls = [call for call in self.calls if not call.jobs & ~wanted]
        found: dict[int, tuple[int, int]] = {}
        for stops, ways in self._days((), calls, wide=wide):
            mask = sum(call.jobs for call in stops)
            if whole and mask != wanted:
                continue
            best = self._best(stops, ways)
            if best is not None and (mask not in found or (best.away, best.metres) < found[mask]):
                found[mask] = (best.away, best.metres)
                if mask not in self.made or (best.away, best.metres) <= self.made[mask][1].key[:2]:
                    self.made[mask] = (stops, best)
        return found

    def best(self, stops: Sequence[Call]) -> Timed | None:
        """Return the best times of these stops in this order, None where they keep not every rule."""
        ways = self._begin()
        for number, call in enumerate(stops):
            before = stops[number - 1] if number else None
            ways = self._onwards(ways, before, call, number)
        return self._best(tuple(stops), ways) if stops else None

    def possible(self, stops: Sequence[Call]) -> list[Timed]:
        """Return every way to return and rest that is best or as good by all but the gap."""
        ways = self._begin()
        for number, call in enumerate(stops):
            ways = self._onwards(ways, stops[number - 1] if number else None, call, number)
        found = self._allowed(tuple(stops), ways)
        least = min((one.key for one in found), default=None)
        return [one for one in found if one.key == least]

    def words(self, mask: int) -> str:
        """Return the best day that was met with just these jobs, in words."""
        if mask not in self.made:
            return ""
        stops, timed = self.made[mask]
        found = [f"leave {clock(timed.leave, self.world.zone)}"]
        for number, call in enumerate(stops):
            found += ["base"] if number in timed.cuts else []
            found += ["break"] if number == timed.gap else []
            kinds = "+".join(work.kind.id for work in self.world.of(call.jobs))
            found.append(f"{call.site} {kinds} from {clock(call.opens, self.world.zone)}")
        return f"[{', '.join(found)}, home {clock(timed.home, self.world.zone)}]"

    def carried(self, stops: Sequence[Call], cuts: Sequence[int]) -> bool:
        """Return whether payload and space hold on every trip."""
        bounds = (0, *cuts, len(stops))
        used = 0
        for begin, end in pairwise(bounds):
            if not self._cargo.fits(tuple(call.jobs for call in stops[begin:end]), used):
                return False
            used += sum(call.jobs for call in stops[begin:end])
        return True

    def _begin(self) -> list[Way]:
        return [(0, NEVER, self.day.earliest_leave, self.day.home_by, -1, 0, 0, ())]

    def _days(
        self, stops: tuple[Call, ...], calls: Sequence[Call], *, wide: bool, ways: list[Way] | None = None
    ) -> Iterator[tuple[tuple[Call, ...], list[Way]]]:
        """Yield every sequence of stops that can be made, with its ways."""
        ways = self._begin() if ways is None else ways
        before = stops[-1] if stops else None
        for call in calls:
            if before is not None and before.marked and not call.marked:
                continue
            further = self._onwards(ways, before, call, len(stops))
            if not further:
                continue
            day = (*stops, call)
            yield day, further
            rest = [
                other
                for other in calls
                if not other.jobs & call.jobs
                and (
                    wide
                    or (other.site, other.opens, other.closes, other.move)
                    != (call.site, call.opens, call.closes, False)
                )
            ]
            if rest:
                yield from self._days(day, rest, wide=wide, ways=further)

    def _onwards(self, ways: list[Way], before: Call | None, call: Call, number: int) -> list[Way]:
        """Return the ways on to the next stop's work: straight or by base, with the break in between or not."""
        day = self.day
        here = before.leave if before else 0
        if before is not None and before.marked and not call.marked:
            return []
        drives = [(day.seconds[here][call.enter], day.metres[here][call.enter], False)]
        if before is not None and not before.marked and day.trips > 1 and not self.light:
            seconds = day.seconds[here][0] + day.loading + day.seconds[0][call.enter]
            drives.append((seconds, day.metres[here][0] + day.metres[0][call.enter], True))
        host = int(call.marked if before is None else before.marked)
        found: list[Way] = []
        for slack, floor, low, high, gap, marked, metres, cuts in ways:
            for seconds, length, by_base in drives:
                if by_base and len(cuts) + 1 >= day.trips:
                    continue
                trips = (*cuts, number) if by_base else cuts
                driven = metres + length + call.metres
                self._add(found, (slack + seconds, floor + seconds, low, high, gap, marked, driven, trips), call)
                if gap >= 0 or not day.rest:
                    continue
                begins = low
                if before is not None:
                    if slack > day.rest_after:
                        continue
                    begins = max(low, floor - day.rest_after)
                later = seconds + day.rest
                self._add(found, (slack + later, floor + later, begins, high, number, host, driven, trips), call)
        return found

    def _add(self, found: list[Way], way: Way, call: Call) -> None:
        slack, floor, low, high, gap, marked, metres, cuts = way
        slack, floor = slack + call.seconds, max(floor, call.opens) + call.seconds
        high = min(high, call.closes - slack)
        if floor <= call.closes and low <= high and max(low + slack, floor) <= self.day.home_by:
            found.append((slack, floor, low, high, gap, marked, metres, cuts))

    def _best(self, stops: tuple[Call, ...], ways: list[Way]) -> Timed | None:
        return min(self._allowed(stops, ways), key=lambda one: one.key, default=None)

    def _allowed(self, stops: tuple[Call, ...], ways: list[Way]) -> list[Timed]:
        """Return the days that the rules allow for these stops: returns where they are needed, the break where due."""
        fits: dict[tuple[int, ...], bool] = {}
        one_trip = self.light or self.carried(stops, ())
        plain: list[Timed] = []
        rested: list[Timed] = []
        at_marked: list[Timed] = []
        back, length = self.day.seconds[stops[-1].leave][0], self.day.metres[stops[-1].leave][0]
        for slack, floor, low, high, gap, marked, metres, cuts in ways:
            if one_trip == bool(cuts):
                continue
            last = min(high, self.day.home_by - back - slack)
            if low > last or floor + back > self.day.home_by:
                continue
            if cuts and not fits.setdefault(cuts, self.carried(stops, cuts)):
                continue
            meets = max(low + slack, floor)
            leave = low if low + slack >= floor else min(last, floor - slack)
            timed = Timed(leave, meets + back, metres + length, gap, bool(marked), cuts)
            (plain if gap < 0 else at_marked if marked else rested).append(timed)
        least = min((one.away for one in plain), default=None)
        if least is None:
            return []
        if not self.day.rest or least <= self.day.rest_after:
            return plain
        return rested or at_marked


def scanned(outing: Outing, stops: Sequence[Call]) -> tuple[int, int] | None:
    """Return the least (time away, metres) of stops without loads, found by trying every departure and every gap."""
    day = outing.day
    without = _scan(day, stops, -1)
    if without is None or not day.rest or without[0] <= day.rest_after:
        return without
    gaps = range(len(stops))
    healthy = [gap for gap in gaps if not (stops[gap - 1] if gap else stops[0]).marked]
    for some in (healthy, gaps):
        found = [one for gap in some if (one := _scan(day, stops, gap)) is not None]
        if found:
            return min(found)
    return None


def _scan(day: CrewDay, stops: Sequence[Call], gap: int) -> tuple[int, int] | None:
    leave = np.arange(day.earliest_leave, day.home_by + 1)
    now, here, metres = leave.copy(), 0, 0
    good = np.ones(len(leave), dtype=bool)
    for number, call in enumerate(stops):
        if number == gap:
            good &= (now - leave <= day.rest_after) | (number == 0)
            now = now + day.rest
        now = np.maximum(now + day.seconds[here][call.enter], call.opens) + call.seconds
        metres += day.metres[here][call.enter] + call.metres
        here = call.leave
        good &= now <= call.closes
    now = now + day.seconds[here][0]
    good &= now <= day.home_by
    return (int((now - leave)[good].min()), metres + day.metres[here][0]) if good.any() else None
