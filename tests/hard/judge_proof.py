"""Whether what a round says of its own quality is true of all rounds of the farm."""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction

from routing.farm.models import Rank
from routing.round import Round
from tests.hard.complaint import Complaint, minutes_in, span
from tests.hard.made import Made
from tests.hard.oracle import Best, Oracle

PROVEN_RANKS = re.compile(r"no round\b[^.]*? does more|everything that can be done is done", re.IGNORECASE)
AT_MOST = re.compile(r"may do more of rank .(now|must|want|passing)., but at most ([\d.]+) jobs? more")
ON_TIME_WEIGHT = 7
MINUTE = 60
LATER = re.compile(r"\blater\b|\blate\b|overdue|due date", re.IGNORECASE)


def judge_proof(round_: Round, oracle: Oracle, days: list[Made]) -> Iterator[Complaint]:
    """Yield each claim of a round's proof that some round of the farm contradicts."""
    world, proof = oracle.world, round_.proof
    done = sum(made.mask for made in days)
    away = sum(made.itinerary.away_seconds for made in days)
    metres = sum(made.itinerary.distance_metres for made in days)
    rounds = oracle.best()
    punctual = oracle.best(lambda work, day: world.punctual(work, day.date))
    top, score = oracle.top(rounds), world.score(done)
    if (proof.optimal or PROVEN_RANKS.search(proof.text)) and score < top:
        names = oracle.words(next(mask for mask in rounds if world.score(mask) == top))
        yield Complaint("proof: ranks", f"“{proof.text}” serves {_points(score)}; {_points(top)} by {names}")
    if proof.optimal and score >= top:
        fair = punctual if oracle.top(punctual) == top else rounds
        yield from _least(round_, oracle, [one for one in fair.items() if world.score(one[0]) == score], (away, metres))
    yield from _rank_bounds(round_, oracle, rounds, done)
    yield from _away_bound(round_, oracle, rounds, days)


def judge_wide(round_: Round, oracle: Oracle, days: list[Made]) -> Iterator[Complaint]:
    """Yield where a round with two stops at a site in one window contradicts a proof; its footnote excepts those."""
    if not round_.proof.optimal:
        return
    rounds = oracle.best(wide=True)
    score = oracle.world.score(sum(made.mask for made in days))
    if oracle.top(rounds) > max(score, oracle.top(oracle.best())):
        said = "one stop at a site" in round_.proof.text
        text = f"“{round_.proof.text}” {_points(oracle.top(rounds))} with two stops at a site"
        yield Complaint("proof: ranks, two stops", text, soft=said)


def _least(
    round_: Round, oracle: Oracle, rounds: list[tuple[int, tuple[int, int]]], cost: tuple[int, int]
) -> Iterator[Complaint]:
    """Yield where a proven round is not the least away of those that serve as much, or not the shortest of these."""
    text = round_.proof.text
    if not rounds:
        return  # this round itself has two stops at a site in one window, of which nothing is proved
    mask, best = min(rounds, key=lambda one: one[1])
    if cost[0] > best[0]:
        yield Complaint("proof: away", f"“{text}” away {span(cost[0])}; {span(best[0])} by {oracle.words(mask)}")
    elif cost > best and round_.surest is None:  # a surer order may be a longer way
        yield Complaint("proof: distance", f"“{text}” {cost[1]} m; {best[1]} m by {oracle.words(mask)}")
    score = oracle.world.score(mask)
    everything = oracle.best().items()
    other = min((cost for mask, cost in everything if oracle.world.score(mask) == score), default=best)
    if other[0] < min(cost[0], best[0]) and not LATER.search(text):
        yield Complaint(
            "proof: silent on later", f"“{text}” away {span(cost[0])}; {span(other[0])} with jobs done later"
        )


def _rank_bounds(round_: Round, oracle: Oracle, rounds: Best, done: int) -> Iterator[Complaint]:
    """Yield each bound of a rank that some round passes, or that is less than this round has."""
    proof, world = round_.proof, oracle.world
    score = world.score(done)
    for rank, most in enumerate(proof.rank_bounds):
        bound = Fraction(most, proof.weight_scale)
        if bound < score[rank]:
            yield Complaint("proof: rank bound below own", f"rank {rank}: bound {bound}, has {score[rank]}")
        best = max(
            (one[rank] for mask in rounds if (one := world.score(mask))[:rank] == score[:rank]), default=Fraction(0)
        )
        if best > bound:
            yield Complaint("proof: rank bound", f"rank {rank}: bound {bound}; {best} can be served")
        if bound > score[rank]:
            break
    found = AT_MOST.search(proof.text)
    if found:
        rank = [name.value for name in Rank].index(found[1])
        best = max(
            (one[rank] for mask in rounds if (one := world.score(mask))[:rank] == score[:rank]), default=Fraction(0)
        )
        if best > score[rank] + Fraction(found[2]) * ON_TIME_WEIGHT:
            yield Complaint("proof: jobs told", f"“{proof.text}”: {best} can be served, this round has {score[rank]}")


def _away_bound(round_: Round, oracle: Oracle, rounds: Best, days: list[Made]) -> Iterator[Complaint]:
    """Yield a bound on the time away that a round of the same jobs beats, or that is above this round's own."""
    proof, world = round_.proof, oracle.world
    done = sum(made.mask for made in days)
    away = sum(made.itinerary.away_seconds for made in days)
    late = {work.number: world.overdue(work, made.outing.day.date) for made in days for work in world.of(made.mask)}
    no_later = oracle.best(lambda w, day: world.overdue(w, day.date) <= late.get(w.number, 0))
    least = min(no_later.get(done, (away, 0))[0], away)
    if proof.away_bound_seconds > away:
        yield Complaint("proof: away bound above own", f"bound {span(proof.away_bound_seconds)}, own {span(away)}")
    elif proof.away_bound_seconds > least:
        yield Complaint(
            "proof: away bound", f"bound {span(proof.away_bound_seconds)}; {span(least)} does {oracle.words(done)}"
        )
    told = minutes_in("away for less than {}", proof.text)
    if told is None:
        return
    freely = least if LATER.search(proof.text) else min(rounds.get(done, (away, 0))[0], least)
    if told * MINUTE > freely:
        yield Complaint("proof: away told", f"“{proof.text}”: {span(freely)} does {oracle.words(done)}")


def _points(score: tuple[Fraction, ...]) -> str:
    return "/".join(f"{float(points):g}" for points in score)
