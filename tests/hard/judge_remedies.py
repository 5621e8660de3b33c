"""Whether each remedy, done to the farm, lets the left-out jobs in, loses nothing for them and is the least."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from routing.farm.models import Crew, Farm, Rank
from routing.round import LeftOut, Remedy, RemedyKind, Round
from tests.hard.complaint import Complaint
from tests.hard.judge_left_out import with_more_room, with_more_stock
from tests.hard.made import Made
from tests.hard.oracle import Oracle
from tests.hard.world import Relax

MINUTE = 60


@dataclass(frozen=True)
class _Case:
    """One left-out entry of a round and the farm it is of."""

    oracle: Oracle
    left: LeftOut
    tasks: int
    done: int
    days: list[Made]

    @property
    def farm(self) -> Farm:
        return self.oracle.world.farm

    @property
    def crew(self) -> str:
        return self.left.insertion.crew if self.left.insertion is not None else ""

    def again(self, farm: Farm | None = None, relax: Relax | None = None) -> Oracle:
        """Return the oracle of a changed farm with the same jobs."""
        world = self.oracle.world
        return Oracle(farm or self.farm, world.dates, [work.job.id for work in world.works], relax)

    def kept(self, text: str) -> int:
        """Return what must be kept beside the left-out jobs: all that is done, but for what the remedy says is lost."""
        if self.left.reason.certain:
            return 0
        lost = re.search(r", with (.*) left out$", text)
        return self.done & ~self.named(lost[1]) if lost else self.done

    def named(self, text: str) -> int:
        """Return the jobs done that words like `Site 1 (feed, check, want) and Site 2 (look, must)` name.

        The rank is the greatest of them: a job of the same kind and site that matters more is not meant.
        """
        world, found = self.oracle.world, 0
        for work in world.of(self.done):
            site = re.search(rf"{re.escape(world.farm.site(work.job.site).name)} \(([^)]*)\)", text)
            if not site:
                continue
            *kinds, rank = site[1].split(", ")
            if work.kind.name in kinds and work.rank >= list(Rank).index(Rank(rank)):
                found |= work.bit
        return found


def judge_remedies(round_: Round, oracle: Oracle, days: list[Made]) -> Iterator[Complaint]:
    """Yield each remedy of a round that is false."""
    done = sum(made.mask for made in days)
    for left in round_.left_out:
        if not left.remedies:
            continue
        case = _Case(oracle, left, oracle.world.mask(job.id for job in left.jobs), done, days)
        for remedy in left.remedies:
            for text in _judged(case, remedy):
                soft = "several crew-days" in text
                sort = f"remedy: {remedy.kind}{', perhaps' if soft else ''}"
                yield Complaint(sort, f"{left.site} {left.reason}: “{remedy.text}” {text}", soft=soft)


def _judged(case: _Case, remedy: Remedy) -> Iterator[str]:
    if remedy.kind is RemedyKind.LEAVE_OUT:
        yield from _leave_out(case, remedy)
    elif remedy.kind is RemedyKind.LIGHTER_LOAD:
        yield from _fewer_hives(case, remedy)
    elif remedy.kind is RemedyKind.OTHER_DAY:
        yield from _other_day(case, remedy)
    else:
        change = _changes(case, remedy)
        if change is None:
            yield "is a kind that is not judged"
        else:
            yield from _amount(case, remedy, *change)


def _changes(case: _Case, remedy: Remedy) -> tuple[Callable[[float], Oracle], float] | None:
    """Return the farm with so much of the remedy, and by how much less is told apart; None for an unknown kind."""
    stretches: dict[RemedyKind, Callable[[int], Relax]] = {
        RemedyKind.MORE_LIGHT: lambda much: Relax(light=much),
        RemedyKind.EARLIER_START: lambda much: Relax(start=much, crew=case.crew),
        RemedyKind.LATER_HOME: lambda much: Relax(home=much, crew=case.crew),
    }
    if remedy.kind in stretches:
        return lambda much: case.again(relax=stretches[remedy.kind](int(much))), MINUTE
    if remedy.kind is RemedyKind.MORE_PEOPLE:
        return lambda much: case.again(_crews(case, lambda one: {"people": one.people + int(much)})), 1
    if remedy.kind is RemedyKind.MORE_TRIPS:
        return lambda much: case.again(
            _crews(case, lambda one: {"trips_a_day": min(6, one.trips_a_day + int(much))})
        ), 1
    if remedy.kind is RemedyKind.MORE_STOCK:
        name = max((m.name for m in case.farm.materials.values() if m.name in remedy.text), key=len)
        packs = re.search(r"\((\d+) \N{MULTIPLICATION SIGN} ", remedy.text)  # half a pack cannot be bought
        less = remedy.amount / int(packs[1]) if packs else 0.01
        return lambda much: case.again(with_more_stock(case.farm, name, much)), less
    if remedy.kind is RemedyKind.OTHER_VEHICLE and case.crew:
        what = "space" if "litres" in remedy.text or "space" in remedy.text else "payload"
        return lambda much: case.again(with_more_room(case.farm, case.crew, what, much)), 1
    return None


def _crews(case: _Case, change: Callable[[Crew], dict[str, object]]) -> Farm:
    """Return the farm with the insertion's crew changed, or every crew where there is none."""
    crews = tuple(
        crew.model_copy(update=change(crew)) if case.crew in {"", crew.id} else crew for crew in case.farm.crews
    )
    return case.farm.model_copy(update={"crews": crews})


def _amount(case: _Case, remedy: Remedy, changed: Callable[[float], Oracle], less: float) -> Iterator[str]:
    """Yield where the amount does not do, or less would do."""
    amount = remedy.amount or 1
    oracle = changed(amount)
    keep = case.kept(remedy.text)
    lost = list(case.oracle.world.of(case.done & ~keep)) if not case.left.reason.certain else []
    if " left out" in remedy.text and not lost:
        yield "names nothing that is done as what is lost"
    if any(work.rank <= max(one.rank for one in case.oracle.world.of(case.tasks)) for work in lost):
        yield "loses what matters as much"
    if not (oracle.does(case.tasks | keep) or oracle.does(case.tasks | keep, wide=True)):
        yield "does not let it in with all else kept"
        return
    smaller = changed(amount - less)
    if amount > less and "at most" not in remedy.text and smaller.does(case.tasks | keep):
        several = " (several crew-days)" if len(oracle.outings) > 1 else ""
        yield f"is not the least{several}: {amount - less:g} does it too: {smaller.words(case.tasks | keep)}"


def _leave_out(case: _Case, remedy: Remedy) -> Iterator[str]:
    """Yield where leaving out the named site does not make room, or costs more than that."""
    world = case.oracle.world
    named = [site for site in world.farm.sites if re.search(rf"{re.escape(site.name)}\b", remedy.text)]
    stops = [call for made in case.days for call in made.calls if any(call.site == site.id for site in named)]
    choices = {call.jobs for call in stops} | {sum(call.jobs for call in stops if call.site == s.id) for s in named}
    choices |= {work.bit for call in stops for work in world.of(call.jobs)}
    good = [out for out in choices if out and case.oracle.does(case.done & ~out | case.tasks, wide=True)]
    if not good:
        yield "does not make room with all else kept"
        return
    ranks = {min(work.rank for work in world.of(out)) for out in good}
    told = [rank for rank, name in enumerate(Rank) if re.search(rf"[(, ]{name}\)", remedy.text)]
    if told and told[0] not in ranks:
        yield f"says rank {list(Rank)[told[0]]}, ranks are {[list(Rank)[rank].value for rank in sorted(ranks)]}"


def _other_day(case: _Case, remedy: Remedy) -> Iterator[str]:
    """Yield where the jobs cannot be done on the date that is told, with nothing else and the stock that is left then."""
    world = case.oracle.world
    date = world.dates[-1] + dt.timedelta(days=int(remedy.amount))
    if f" {date.day} {date:%B}" not in remedy.text:
        yield f"names another date than {date.isoformat()}, {remedy.amount:g} days later"
    jobs = tuple(work.job for work in world.of(case.tasks))
    if any(job.due_by is not None and date > job.due_by for job in jobs):
        yield "is later than it is due"
    stock = {
        name: float(have - used)
        for name, have, used in zip(world.materials, world.stock, world.total(case.done), strict=True)
        if have is not None
    }
    oracle = Oracle(case.farm.model_copy(update={"jobs": jobs, "stock": stock}), (date,))
    if len(oracle.world.works) < len(jobs) or not oracle.does(oracle.world.everything, wide=True):
        yield "does not fit on that date with nothing else"


def _fewer_hives(case: _Case, remedy: Remedy) -> Iterator[str]:
    """Yield where so many hives do not fit alone, or one more would."""
    work = next(iter(case.oracle.world.of(case.tasks)))

    def alone(hives: int) -> bool:
        smaller = work.job.model_copy(update={"hives": hives, "of_hives": 0, "id": "alone"})
        oracle = Oracle(case.farm.model_copy(update={"jobs": (smaller,)}), case.oracle.world.dates)
        return bool(oracle.world.works) and oracle.does(1)

    hives = int(remedy.amount)
    if not alone(hives):
        yield "does not fit alone"
    elif hives + 1 < work.job.hives and alone(hives + 1):
        yield "one hive more fits too"
