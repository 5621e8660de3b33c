"""Whether the answers to `fit` and `try` are true."""

from __future__ import annotations

import datetime as dt
import random
import re
from collections.abc import Iterator, Sequence
from itertools import product

from routing.errors import AskedError
from routing.farm.models import Farm
from routing.planning.ask.own_order import OwnOrder
from routing.round import FitAnswer, FitProof, Round
from routing.stages.ask import fit, try_order
from tests.hard.complaint import Complaint, minutes_in, span
from tests.hard.judge_round import judge_round
from tests.hard.made import Made, made_of
from tests.hard.oracle import Oracle
from tests.hard.outing import Outing
from tests.hard.world import Call, Relax

DAY = 24 * 3600
MOST_PARTS = 8
"""Every order of more takes hours."""
MINUTE = 60


def judge_fit(farm: Farm, date: dt.date) -> Iterator[Complaint]:
    """Ask whether all fits on a date, and yield what is false of the answer."""
    answer = fit(farm, date)
    oracle = Oracle(farm, (date,))
    everything = oracle.world.everything
    if answer.fits:
        if answer.round is None:
            yield Complaint("fit: yes without a round", " ".join(answer.lines))
            return
        oracle = Oracle(farm, (date,), listed(answer.round))
        everything = oracle.world.everything
        for complaint in judge_round(answer.round, oracle):
            yield Complaint(f"fit: {complaint.sort}", complaint.text, complaint.soft)
        if not any(not complaint.soft for complaint in judge_round(answer.round, oracle)):
            done = sum(made.mask for made in made_of(answer.round, oracle))
            if done != everything:
                yield Complaint("fit: yes, and a job is left out", " ".join(answer.lines))
        return
    yield from _no(answer, oracle, farm)


def _no(answer: FitAnswer, oracle: Oracle, farm: Farm) -> Iterator[Complaint]:
    everything, text = oracle.world.everything, " ".join(answer.lines)
    if answer.proof is not FitProof.NOT_PROVED:
        if oracle.does(everything):
            yield Complaint("fit: no is false", f"{text} {oracle.words(everything)}")
            return
        if oracle.does(everything, wide=True):
            text = f"{text} {oracle.words(everything)}"
            yield Complaint("fit: no is false, two stops at a site", text, soft=True)
    missing = answer.missing_seconds
    others = everything & ~_named(answer, oracle)
    rest = others if "Nor does the rest fit" in text else everything

    def longer(seconds: int) -> bool:
        relax = Relax(light=seconds, home=seconds)
        eased = Oracle(farm, oracle.world.dates, relax=relax)
        found = eased.does(rest)
        words.append(eased.words(rest))
        return found or (too_heavy and _fits_shared_out(answer, farm, relax))  # what no load holds is shared out

    words: list[str] = []
    long = Oracle(farm, oracle.world.dates, relax=Relax(light=DAY, home=DAY))
    too_heavy = any(work.bit & rest and not long.does(work.bit) for work in long.world.works)

    if missing > 1 and len(oracle.outings) == 1 and longer(missing - 1):
        yield Complaint("fit: missing is no bound", f"told {span(missing)}: {text} {words[-1]}")
    exact = minutes_in("By exact search over every order: {}", text)
    if exact is not None and not longer(missing):
        yield Complaint("fit: missing is not enough", f"{span(missing)}: {text}")
    enough = minutes_in("With {} more light", text)
    if enough is not None and not longer(enough * MINUTE):
        yield Complaint("fit: an order was found that is none", text)
    if "However much light" in text and longer(DAY):
        yield Complaint("fit: gates", f"{text} {words[-1]}")
    yield from _rest(answer, oracle, farm, others)


def _rest(answer: FitAnswer, oracle: Oracle, farm: Farm, others: int) -> Iterator[Complaint]:
    text = " ".join(answer.lines)
    rests = {"All the rest would fit.": False, "All the rest would fit, large jobs shared out.": True}
    for sentence, shared in rests.items():
        if sentence in text and not (_fits_shared_out(answer, farm) if shared else oracle.does(others, wide=True)):
            yield Complaint("fit: the rest", text)


def _fits_shared_out(answer: FitAnswer, farm: Farm, relax: Relax | None = None) -> bool:
    """Return whether all of which the answer names no reason fits, each job in so many even parts as serves that."""
    most = sum(crew.trips_a_day for crew in farm.crews)
    every = sorted(product(range(1, most + 1), repeat=len(farm.jobs)), key=sum)  # few parts are tried in no time
    for counts in (one for one in every[:256] if sum(one) <= MOST_PARTS or one == every[0]):
        parts = [
            f"{job.id} part {number} of {count}"
            for job, count in zip(farm.jobs, counts, strict=True)
            for number in range(1, count + 1)
            if 1 < count <= job.hives
        ]
        oracle = Oracle(farm, (answer.date,), parts, relax)
        if oracle.does(oracle.world.everything & ~_named(answer, oracle), wide=True):
            return True
    return False


def listed(round_: Round) -> list[str]:
    """Return the names of all jobs of a round, of those that were shared out the parts."""
    return [
        *(job.id for day in round_.itineraries for stop in day.stops for job in stop.jobs),
        *(job.id for left in round_.left_out for job in left.jobs),
    ]


def _named(answer: FitAnswer, oracle: Oracle) -> int:
    """Return the jobs of which a line of the answer says why they cannot be done."""
    found = 0
    for work in oracle.world.works:
        site = oracle.world.farm.site(work.job.site).name
        for line in answer.lines:
            told = line.startswith(f"{site}: ") and work.kind.name in line.split(" (")[0]
            if told and not oracle.does(work.bit):  # of two jobs that are called alike, the one that cannot be done
                found |= work.bit
    return found


def judge_try(farm: Farm, date: dt.date, round_: Round, oracle: Oracle, seed: int) -> Iterator[Complaint]:
    """Give the plan's own orders and some others, and yield what is false of what becomes of them."""
    for made in made_of(round_, oracle):
        names = [_name(call, made.outing) for call in made.calls]
        if len(set(names)) < len(names):
            continue
        yield from _tried(farm, date, made.outing, made.calls, names, made)
        dice = random.Random(seed)
        for _ in range(2):
            order = list(made.calls)
            dice.shuffle(order)
            yield from _tried(farm, date, made.outing, order, [_name(call, made.outing) for call in order], None)


def _name(call: Call, outing: Outing) -> str:
    work = next(iter(outing.world.of(call.jobs)))
    return f"{work.job.site}:{work.job.to}" if call.move else call.site


def _tried(
    farm: Farm, date: dt.date, outing: Outing, calls: Sequence[Call], names: Sequence[str], made: Made | None
) -> Iterator[Complaint]:
    shown = ", ".join(names)
    try:
        tried = try_order(farm, date, outing.day.crew.id, names)
    except AskedError as error:
        yield Complaint("try: refused", f"{shown}: {error}")
        return
    except AssertionError as error:
        yield Complaint("try: exception", f"{shown}: {error}")
        return
    choices = [_fullest(call, outing) for call in calls]
    best = min((found for stops in product(*choices) if (found := _kept(outing, stops)) is not None), default=None)
    own = made is not None and all(call in fullest for call, fullest in zip(calls, choices, strict=True))
    if tried.round is None:
        if best is not None:
            sort = "try: the plan's own order is refused" if own else "try: an order that keeps every rule is refused"
            yield Complaint(sort, f"{shown}: {' '.join(tried.lines)}; away {span(best[0])}")
        else:
            yield from _amounts(farm, date, outing, choices, tried, shown)
        return
    whole = Oracle(farm, (date,), listed(tried.round))
    for complaint in judge_round(tried.round, whole):
        yield Complaint(f"try: {complaint.sort}", f"{shown}: {complaint.text}", complaint.soft)
    away = tried.round.itineraries[0].away_seconds
    if best is not None and away > best[0]:
        yield Complaint("try: not the least", f"{shown}: away {span(away)}; {span(best[0])}")
    if made is not None and own and away > made.itinerary.away_seconds:
        yield Complaint("try: longer than the plan", f"{shown}: {span(away)} and {span(made.itinerary.away_seconds)}")


def _kept(outing: Outing, stops: Sequence[Call]) -> tuple[int, int] | None:
    if not outing.world.in_store(sum(call.jobs for call in stops)):
        return None
    found = outing.best(stops)
    return None if found is None else (found.away, found.metres)


def _fullest(call: Call, outing: Outing) -> list[Call]:
    """Return the stops that do as many of the site's jobs as one stop can, in each of their windows."""
    if call.move:
        return [other for other in outing.calls if other.jobs == call.jobs]
    alike = [other for other in outing.calls if other.site == call.site and not other.move]
    most = max(other.jobs.bit_count() for other in alike)
    return [other for other in alike if other.jobs.bit_count() == most]


def _amounts(
    farm: Farm, date: dt.date, outing: Outing, choices: Sequence[Sequence[Call]], tried: OwnOrder, shown: str
) -> Iterator[Complaint]:
    """Yield where an order with all that it is said to pass by still does not fit."""
    text = " ".join(tried.lines)
    if not text:
        yield Complaint("try: refused without a word", shown)
    lates = {
        what: minutes_in(rf"passes {what} by {{}}", text) or 0 for what in ("working light", "opening hours", "home by")
    }
    if not any(lates.values()) or re.search("last of the day|stock|payload|no way", text):
        return
    relax = Relax(
        light=max(lates["working light"], lates["opening hours"]) * MINUTE,  # a gate may shut before the light ends
        gates=lates["opening hours"] * MINUTE,
        home=lates["home by"] * MINUTE,
    )
    easy = next(one for one in Oracle(farm, (date,), relax=relax).outings if one.day.crew.id == outing.day.crew.id)
    jobs = [{call.jobs for call in calls} for calls in choices]
    again = [[call for call in easy.calls if call.jobs in some] for some in jobs]
    if all(easy.best(stops) is None for stops in product(*again)):
        yield Complaint("try: breaks more", f"{shown}: {text}")
