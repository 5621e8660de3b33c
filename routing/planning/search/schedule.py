"""Who runs when, and for how long: shares of a given time and sums of them. Nothing here runs anything."""

from __future__ import annotations

import time
from dataclasses import dataclass

FEW_TASKS = 12
"""Up to this many tasks start from our own construction and local search, which then are quick."""

NO_END = 10**9
"""Iterations of a run that only the clock ends."""

COMBINE_SHARE = 0.7
"""Of the time left at the end, what recombination may take; polishing has the rest."""

ENGINE_SHARE = 0.85
"""Of a given time, what the engines get; the rest is for polishing."""

MANY_TASKS = 50
ENGINE_SHARE_OF_MANY = 0.98
"""The same for more tasks than those many: engines gain to the end there, and polishing gains little."""

BESIDE_SHARE_OF_MANY = 0.99
"""The same for the run beside."""

SETTLING_SECONDS_OF_100 = 3.0
"""After so long for 100 tasks, and by the square for others, a run where light is scarce gains little: of 250 by 20
crew-days (12 s by this) it serves 1,188 of `want` on average in 13 s and 1,184 in 24 s, but of 400 by 20 (22 s by this)
1,262 in 17 s and 1,270 in 34 s."""

MOST_FRESH = 3
LEAST_AFTER, LEAST_AFTER_THOUSAND = 0.35, 6.0
"""Seconds that are left after the engines, and so many more for 1,000 tasks: to mend and fill one set of orders takes
1 s there, and a twentieth of it for 400."""

MENDING_THOUSAND = 1.5
"""Seconds that mending and filling 1,000 tasks takes at the most, with building the model before."""

LEAST_RECOMBINED = 0.2
"""With fewer seconds left nothing is recombined."""

TOLD_SHARE = 0.04
LEAST_RECOMBINING = 0.5
RECOMBINED_SHARE = 0.025
"""Of a given time, what recombination after one run may take, but at least those seconds: when it had a sixth of what
was left, two of them took 5.5 of 30 s at 250 visits and found nothing."""

SCARCE_SHARE = 0.6
SCARCE_SHARE_OF_MANY = 0.9
"""Of the engines' time where light is scarce, what is spent on the contested rank; the rest is for ranks after it and
for the time away, which settle the quicker, the fewer tasks there are."""

LAST_STRETCH = 0.85
"""Of the engines' time, when the better of the two that go on side by side is gone on from. Saving light for every task
from what PyVRP alone has then adds on eight tight rounds of ten to what that has at the end."""

START, START_PAIRED, BRIEF_START = 0.25, 0.5, 0.1
"""Of the engines' time, what those that only start the search get."""

LONG_SLICE = 0.9
"""Of the engines' time, what one run may take: on tight rounds of 150 a long run beats several short ones."""

ITERATIONS_A_SECOND = 60_000
"""Of the engines, times the tasks; it turns work into a count of iterations, and only roughly into seconds."""

MOST_ITERATIONS_A_TASK = 150

ROOMY_SHARE = 1 / 3
"""Of the work of the engines without a clock where every task is served: of 40 to 78 tasks by 5 to 10 crew-days, six
rounds, all come to the same orders so, in half the time; with a seventh three of them do not."""


@dataclass(frozen=True)
class Standing:
    """How a search stands, as far as its time goes."""

    contested: bool
    """Whether there is a rank of which the light does not hold every task."""
    paired: bool
    """Whether another run goes on beside."""
    genetic_runs: bool
    """Whether the genetic engine has the time here, while another goes on beside."""
    asked: int
    """How many tasks engines are asked for."""


@dataclass(frozen=True)
class Turn:
    """Which engine runs next, and how."""

    engine: int | None
    """Its number; None for the genetic engine."""
    starting: int
    """How many engines, it among them, still only start the search."""
    again: bool
    """Whether it is to start from nothing once more, which finds other choices of tasks."""


@dataclass(frozen=True)
class Schedule:
    """The time of one search; moments are by `time.monotonic`, and None where the work alone ends it."""

    begun: float
    deadline: float | None
    tasks: int
    """How many there are."""
    routes: int

    @property
    def share(self) -> float:
        """Of the time given, what the engines get."""
        return ENGINE_SHARE if self.tasks <= MANY_TASKS else ENGINE_SHARE_OF_MANY

    @property
    def scarce_share(self) -> float:
        """Of the engines' time where light is scarce, what is spent on the contested rank."""
        return SCARCE_SHARE if self.tasks <= MANY_TASKS else SCARCE_SHARE_OF_MANY

    def late(self) -> bool:
        """Return whether the time is over."""
        return self.deadline is not None and time.monotonic() >= self.deadline

    def iterations(self, work: float) -> tuple[float, int]:
        """Return how many iterations the work is, and how many of them one run does."""
        most = work * ITERATIONS_A_SECOND / max(self.tasks, FEW_TASKS)
        each = max(MOST_ITERATIONS_A_TASK, round(min(most * LONG_SLICE, 500 + MOST_ITERATIONS_A_TASK * self.tasks)))
        return most, each

    def _engines_seconds(self, share: float) -> float:
        """Return how long engines run that may have a share of a given time; some is kept for what is done after."""
        given = (self.deadline or 0.0) - self.begun
        after = LEAST_AFTER + LEAST_AFTER_THOUSAND * (self.tasks / 1000) ** 3
        return min(share * given, max(ENGINE_SHARE * given, given - after))

    def end(self, share: float = 1.0) -> float | None:
        """Return until when engines run, or a share of their time."""
        return None if self.deadline is None else self.begun + share * self._engines_seconds(self.share)

    def end_beside(self) -> float:
        """Return until when the run beside goes on: while the last of the others is taken over too."""
        share = BESIDE_SHARE_OF_MANY if self.tasks > MANY_TASKS else self.share
        return self.begun + self._engines_seconds(share)

    def end_of_cycles(self, standing: Standing) -> float | None:
        """Return until when engines run in turn; where light is scarce, time is kept for what then still counts."""
        if not standing.contested:
            return self.end()
        return self.end(self.scarce_share * (LAST_STRETCH if standing.paired else 1.0))

    def stretching(self, standing: Standing) -> bool:
        """Return whether the last stretch is on, in which the better of those that go on side by side is gone on from.

        Until then they keep apart: from the other's best a run finds little else, unless it is the genetic one. Where a
        rank is contested, going on with every task is that stretch.
        """
        begins = self.end(LAST_STRETCH)
        if begins is None or not standing.paired or standing.genetic_runs or standing.contested:
            return False
        return time.monotonic() >= begins

    def turn(self, number: int, engines: int, standing: Standing, *, genetic: bool, done: bool) -> Turn:
        """Return who runs in a cycle, counted from 0, of so many engines and a genetic engine if there is one.

        The engines come one after the other, the last one for good; `done` is whether all tasks are served. Without a
        clock the genetic engine then has all turns after them: of 14 rounds two came out nearer and none worse.
        """
        turns = number - engines + 1
        alone = standing.genetic_runs or (done and self.deadline is None)
        its_turn = genetic and turns >= 0 and (alone or turns % 2 == 0)
        return Turn(
            engine=None if its_turn else min(number, engines - 1),
            starting=max(0, engines - 1 - number),
            again=not done and self._again(number - engines, standing),
        )

    def _again(self, number: int, standing: Standing) -> bool:
        """Return whether the last engine is to start from nothing once more, which finds other choices of tasks.

        `number` counts its runs from -1. Every other run is such a one, the first of them sooner where light is scarce;
        where another goes on beside, only the first few there are.
        """
        if standing.paired:
            return standing.contested and number < self._runs(standing) - 1
        return number % 2 == 1 and number >= (-1 if standing.contested else 1)

    def _runs(self, standing: Standing) -> int:
        """Return how many runs that save light, each from nothing, there is time for until they have settled.

        The genetic engine has one: it settles later, and higher.
        """
        if standing.genetic_runs:
            return 1
        settling = SETTLING_SECONDS_OF_100 * (standing.asked / 100) ** 2
        end = self.end_of_cycles(standing)
        return 1 if end is None else min(MOST_FRESH, max(1, int((end - self.begun) / settling)))

    def end_of_run(self, starting: int, standing: Standing) -> float | None:
        """Return until when an engine may run so that those after it, several cycles and the polish still follow.

        So many engines, it among them, only start the search: together they get a half of the time where another goes
        on beside, a quarter where none does, and a tenth where light is scarce or the genetic engine comes next.
        """
        end = self.end_of_cycles(standing)
        if end is None:
            return None
        now, paired = time.monotonic(), standing.paired
        if not starting:
            share = LONG_SLICE / (self._runs(standing) if paired and standing.contested else 1)
            if paired and not standing.genetic_runs and not standing.contested and not self.stretching(standing):
                end = self.end(LAST_STRETCH) or end
            return min(end, now + max(1.0, share * (end - self.begun)))
        brief = (standing.contested and self.routes > 1) or standing.genetic_runs
        share = BRIEF_START if brief else START_PAIRED if paired or self.routes == 1 else START
        return min(end, now + max(1.0, (self.begun + share * (end - self.begun) - now) / starting))

    def left_to_recombine(self) -> float | None:
        """Return how long recombination may take before days are polished, None where no clock ends it."""
        return None if self.deadline is None else max(0.5, (self.deadline - time.monotonic()) * COMBINE_SHARE)

    def recombining(self, share: float) -> float | None:
        """Return how long a recombination with a share of the time may take, or None where it is too late for it."""
        left = (self.deadline or 0.0) - time.monotonic() - MENDING_THOUSAND * (self.tasks / 1000) ** 3
        if left < LEAST_RECOMBINED:
            return None
        most = max(LEAST_RECOMBINING, share * ((self.deadline or 0.0) - self.begun))
        return min(left * COMBINE_SHARE, most)
