"""Whether what a round says of the jobs that it leaves out is true: reasons, places that are nearly free, clashes."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import combinations, product

from routing.farm.models import BASE, Farm, Rank
from routing.round import Insertion, LeftOut, ReasonCode, Round
from tests.hard.complaint import Complaint, span
from tests.hard.made import Made
from tests.hard.oracle import Oracle
from tests.hard.outing import Outing
from tests.hard.world import Call, Relax, Work

UNTOUCHED = {ReasonCode.NOT_DUE, ReasonCode.NOT_ASKED}
MUSTS = {list(Rank).index(rank) for rank in (Rank.NOW, Rank.MUST)}
CLASH = re.compile(r"cannot all be done on .*?, whatever else is left: (.*)\. Without any one of them")


def judge_left_out(round_: Round, oracle: Oracle, days: list[Made]) -> Iterator[Complaint]:
    """Yield what is false of reasons and insertions; remedies are judged apart."""
    done = sum(made.mask for made in days)
    for left in round_.left_out:
        if left.reason in UNTOUCHED:
            continue
        works = [next(w for w in oracle.world.works if w.job.id == job.id) for job in left.jobs]
        names = f"{left.site} {'+'.join(work.kind.id for work in works)}"
        for work in works:
            yield from _reason(left, work, oracle)
        for some in [[work] for work in works] + (
            [works] if len(works) > 1 and not any(w.job.to for w in works) else []
        ):
            place = still_fits(some, oracle, days, done)
            if place:
                yield Complaint("still fits", f"{names} ({left.reason}): {'+'.join(w.job.id for w in some)} {place}")
                break
        if left.insertion is not None:
            yield from _insertion(left.insertion, works, oracle, days, names)


def _reason(left: LeftOut, work: Work, oracle: Oracle) -> Iterator[Complaint]:
    """Yield a reason that is false of one job."""
    world, what = oracle.world, f"{left.site} {work.kind.id}: {left.reason} ({left.text})"
    able = [outing for outing in oracle.outings if world.may(work, outing.day)]
    calls = [(outing, call) for outing in able for call in outing.calls if call.jobs == work.bit]
    possible = oracle.holds(work.bit)
    if left.reason.certain and possible:
        yield Complaint("reason: certain and false", f"{what}; a round does it")
    if left.reason is ReasonCode.TOO_FAR and not possible and any(by_quickest_ways(*one) for one in calls):
        yield Complaint("reason: not by the quickest ways", f"{what}; by way of other places it could")
    if not left.reason.certain:
        if "but for the break" in left.text:
            rested = [one.model_copy(update={"break_minutes": 0}) for one in world.farm.crews]
            awake = Oracle(world.farm.model_copy(update={"crews": tuple(rested)}), world.dates, names_of(oracle))
            if oracle.does(work.bit) or not awake.does(work.bit):
                yield Complaint(
                    "reason: not but for the break", f"{what}; it does not fit alone without one, or does with"
                )
        elif "would fit alone" in left.text and not oracle.does(work.bit):
            more = "" if possible else ", nor in any round"
            yield Complaint("reason: would not fit alone", f"{what}; it does not{more}")
    carries = any(outing.carried((call,), ()) for outing, call in calls)
    true = {
        ReasonCode.OTHER_DAY: work.job.promised is not None and work.job.promised not in world.dates,
        ReasonCode.NO_STOCK: not world.in_store(work.bit),
        ReasonCode.TOO_HEAVY: bool(calls) and not carries,
        ReasonCode.NEEDS_PEOPLE: not able,
        ReasonCode.NO_VEHICLE: not able,
        ReasonCode.TOO_DARK: not calls or not any(call.seconds <= call.closes - call.opens for _, call in calls),
        ReasonCode.CLOSED: not calls or not any(call.seconds <= call.closes - call.opens for _, call in calls),
        ReasonCode.TOO_FAR: bool(calls),
    }
    if not true.get(left.reason, True):
        yield Complaint("reason: not this one", what)


def by_quickest_ways(outing: Outing, call: Call) -> bool:
    """Return whether one stop fits by the quickest ways there are, a break that is due before the work or after it.

    On the way other places may be passed without a stop.
    """
    day = outing.day
    if not outing.carried((call,), ()):
        return False
    ways = [list(row) for row in day.seconds]
    for via, here, there in product(range(len(ways)), repeat=3):
        ways[here][there] = min(ways[here][there], ways[here][via] + ways[via][there])
    out, back = ways[0][call.enter], ways[call.leave][0]
    for before, after in ((0, 0), (day.rest, 0), (0, day.rest)):
        start = max(day.earliest_leave + out + before, call.opens)
        home = start + call.seconds + after + back
        if start + call.seconds > call.closes or home > day.home_by:
            continue
        if before or after or not day.rest or out + call.seconds + back <= day.rest_after:
            return True
    return False


def still_fits(works: Sequence[Work], oracle: Oracle, days: list[Made], done: int) -> str:
    """Return where jobs still fit a day as it is, in words; nothing where they do not."""
    world = oracle.world
    if not world.in_store(done | sum(work.bit for work in works)):
        return ""
    for outing in oracle.outings:
        if not all(world.may(work, outing.day) for work in works):
            continue
        made = next((one for one in days if one.outing is outing), None)
        stops = made.calls if made else ()
        for after, changed in with_more(works, outing, stops):
            if outing.best(changed) is not None:
                return f"fits {outing.day.crew.id} on {outing.day.date} {after}"
    return ""


def with_more(works: Sequence[Work], outing: Outing, stops: Sequence[Call]) -> Iterator[tuple[str, tuple[Call, ...]]]:
    """Yield the day with these jobs added, as a stop of their own or with what is done at the site already."""
    world = outing.world
    for place in range(len(stops) + 1):
        for call in world.calls_of(works, outing.day):
            yield f"after {place_before(world.rows, stops, place)}", (*stops[:place], call, *stops[place:])
    for place, stop in enumerate(stops):
        if stop.site == works[0].job.site and not stop.move and not works[0].job.to:
            both = [*world.of(stop.jobs), *works]
            for call in world.calls_of(both, outing.day):
                yield f"with stop {place + 1} at {stop.site}", (*stops[:place], call, *stops[place + 1 :])


def place_before(rows: dict[str, int], stops: Sequence[Call], place: int) -> str:
    """Return the id of the place that stop `place` follows."""
    return next(name for name, row in rows.items() if row == stops[place - 1].leave) if place else BASE


def _insertion(
    insertion: Insertion, works: Sequence[Work], oracle: Oracle, days: list[Made], names: str
) -> Iterator[Complaint]:
    """Yield where an insertion breaks nothing, takes other time than told, or breaks more than told."""
    outing = next(
        (one for one in oracle.outings if (one.day.crew.id, one.day.date) == (insertion.crew, insertion.date)), None
    )
    if outing is None:
        yield Complaint("insertion: nobody's day", f"{names}: {insertion.crew} on {insertion.date}")
        return
    if not insertion.shortfalls:
        yield Complaint("insertion: breaks nothing", names)
    made = next((one for one in days if one.outing is outing), None)
    stops = made.calls if made else ()
    here = [
        changed
        for after, changed in with_more(works, outing, stops)
        if after == f"after {insertion.after}" or after.endswith(f" at {insertion.after}")
    ]
    if not here:
        yield Complaint("insertion: no such place", f"{names} after {insertion.after}")
        return
    before = min(_plain(outing, stops))
    eased = eased_oracle(oracle, insertion)
    easy = next(one for one in eased.outings if (one.day.crew, one.day.date) == (outing.day.crew, outing.day.date))
    plain = {one - before for changed in here for one in _plain(easy, changed)}
    if made is not None and made.cuts:
        plain |= {one for changed in here for one in _as_planned(made, easy, changed)}
    away = _far_away(eased, easy, outing, stops, here)
    told = insertion.extra_seconds
    if told is not None and not any(abs(told - max(0, true)) < 60 for true in (*plain, *away)):
        shown = ", ".join(f"{'-' * (one < 0)}{span(abs(one))}" for one in sorted(plain | away))
        yield Complaint("insertion: extra time", f"{names} after {insertion.after}: told {span(told)}; may be {shown}")
    if not away:
        lacks = ", ".join(f"{lack.what} {lack.amount:g} {lack.unit}" for lack in insertion.shortfalls)
        yield Complaint(
            "insertion: breaks more", f"{names} after {insertion.after}: with {lacks} more it still does not fit"
        )


def _plain(outing: Outing, stops: Sequence[Call]) -> set[int]:
    """Return drives and work alone, by each choice of the returns to base that its load needs; by none where none do."""
    for returns in range(outing.day.trips if stops else 0):
        ways = [cuts for cuts in combinations(range(1, len(stops)), returns) if outing.carried(stops, cuts)]
        if ways:
            return {_driven(outing, stops, cuts) for cuts in ways}
    return {_driven(outing, stops, ())}


def _as_planned(made: Made, easy: Outing, changed: Sequence[Call]) -> Iterator[int]:
    """Yield how much longer the drives and work are with the returns to base as planned, where those carry it all."""
    at = next((n for n, (old, new) in enumerate(zip(made.calls, changed, strict=False)) if old != new), len(made.calls))
    more = len(changed) - len(made.calls)
    before = _driven(made.outing, made.calls, made.cuts)
    later = tuple(cut + more * (cut > at) for cut in made.cuts)
    for cuts in {later, tuple(cut + more * (cut >= at) for cut in made.cuts)}:
        if easy.carried(changed, cuts):
            yield _driven(made.outing, changed, cuts) - before


def _driven(outing: Outing, stops: Sequence[Call], cuts: Sequence[int]) -> int:
    day, here, seconds = outing.day, 0, 0
    for number, call in enumerate(stops):
        if number in cuts:
            seconds, here = seconds + day.seconds[here][0] + day.loading, 0
        seconds, here = seconds + day.seconds[here][call.enter] + call.seconds, call.leave
    return seconds + (day.seconds[here][0] if stops else 0)


def _far_away(
    eased: Oracle, easy: Outing, outing: Outing, stops: Sequence[Call], here: Sequence[tuple[Call, ...]]
) -> set[int]:
    """Return how much longer the day is away once it has all that it lacks; empty where it then still does not fit."""
    before = outing.best(stops) if stops else None
    found = set()
    for changed in here:
        for again in _same_jobs(easy, changed):
            best = easy.best(again)
            if best is not None and eased.world.in_store(sum(call.jobs for call in again)):
                found.add(best.away - (before.away if before else 0))
    return found


def _same_jobs(easy: Outing, stops: Sequence[Call]) -> Iterator[tuple[Call, ...]]:
    """Yield the same stops with every choice of their windows."""
    days: list[tuple[Call, ...]] = [()]
    for stop in stops:
        calls = [call for call in easy.calls if call.jobs == stop.jobs]
        days = [(*day, call) for day in days for call in calls]
    yield from days


def eased_oracle(oracle: Oracle, insertion: Insertion) -> Oracle:
    """Return the oracle of the farm with all that an insertion is short of."""
    world, relax, farm = oracle.world, Relax(), oracle.world.farm
    for lack in insertion.shortfalls:
        seconds = int(lack.amount)
        if lack.what == "working light":
            relax = replace(relax, light=max(relax.light, seconds))
        elif lack.what == "opening hours":
            relax = replace(relax, gates=seconds, light=max(relax.light, seconds))  # light may end just after the gate
        elif lack.what == "home by":
            relax = replace(relax, home=seconds, crew=insertion.crew)
        elif lack.what in {"payload", "space"}:
            farm = with_more_room(farm, insertion.crew, lack.what, lack.amount)
        elif lack.what.startswith("stock of "):
            farm = with_more_stock(farm, lack.what.removeprefix("stock of "), lack.amount)
    return Oracle(farm, world.dates, names_of(oracle), relax)


def names_of(oracle: Oracle) -> list[str]:
    """Return the ids of the jobs that are looked at."""
    return [work.job.id for work in oracle.world.works]


def with_more_room(farm: Farm, crew: str, what: str, amount: float) -> Farm:
    """Return the farm with a crew's vehicle that carries so many kilograms or litres more."""
    vehicle = farm.vehicles[farm.crew(crew).vehicle]
    field = "payload_kg" if what == "payload" else "space_litres"
    more = float(Fraction(str(getattr(vehicle, field))) + Fraction(str(amount)))
    return farm.model_copy(update={"vehicles": {**farm.vehicles, vehicle.id: vehicle.model_copy(update={field: more})}})


def with_more_stock(farm: Farm, name: str, amount: float) -> Farm:
    """Return the farm with more of a material in store, by its name. Raises StopIteration."""
    material = next(one for one in farm.materials.values() if one.name == name)
    more = float(Fraction(str(farm.stock.get(material.id, 0))) + Fraction(str(amount)))
    return farm.model_copy(update={"stock": {**farm.stock, material.id: more}})


def judge_clash(round_: Round, oracle: Oracle) -> Iterator[Complaint]:
    """Yield where a set of musts that is said to clash does not, or clashes without one of them too."""
    if not round_.clash:
        return
    found = CLASH.search(round_.clash)
    world = oracle.world
    if found is None:
        yield Complaint("clash: words not known", round_.clash)
        return
    names = found[1].split(", ")
    masks = [0]
    for name in names:
        alike = [
            w.bit
            for w in world.works
            if w.rank in MUSTS and name == f"{world.farm.site(w.job.site).name} ({w.kind.name})"
        ]
        masks = [mask | bit for mask in masks for bit in alike if not mask & bit]
    judged = [_clashes(oracle, mask) for mask in masks]
    if "" not in judged:
        yield Complaint("clash", f"“{round_.clash}” {judged[0] if judged else 'no such jobs'}")


def _clashes(oracle: Oracle, mask: int) -> str:
    if oracle.holds(mask):
        return "but a round does them all" + ("" if oracle.holds(mask, wide=False) else " (two stops at a site)")
    for work in oracle.world.of(mask):
        if not oracle.holds(mask & ~work.bit):
            return f"but without {work.job.site} {work.kind.id} they still cannot"
    return ""
