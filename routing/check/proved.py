"""What is said of how good the round is: no bound is below what the round reaches, and best means the bound itself."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction

from routing.check.ground import Ground
from routing.check.sentences import WHOLE, broken, same
from routing.farm.models import Job, Rank
from routing.round import Proof, Round

ON_TIME, LONGEST_OVERDUE = 7, 365
"""What a job on time weighs, and the most days overdue that are counted: DEVELOPERS.md, arithmetic 9."""


def weight_scale(ground: Ground) -> int:
    """Return the least number of which every shared-out job's hives are a part, 1 where none is shared out."""
    return math.lcm(*(job.of_hives for job in ground.jobs.values() if job.of_hives))


def served_weights(round_: Round, ground: Ground) -> tuple[Fraction, ...]:
    """Return by rank what the planned jobs weigh, days overdue counted at the first date of the round."""
    scale = weight_scale(ground)
    planned = [ground.jobs[job.id] for day in round_.itineraries for stop in day.stops for job in stop.jobs]
    return tuple(
        sum((_weight(job, round_) * scale for job in planned if job.rank is rank), Fraction(0)) for rank in Rank
    )


def _weight(job: Job, round_: Round) -> Fraction:
    overdue = 0 if job.due_by is None or not round_.dates else (round_.dates[0] - job.due_by).days
    share = Fraction(job.hives, job.of_hives) if job.of_hives else Fraction(1)
    return (ON_TIME + min(max(0, overdue), LONGEST_OVERDUE)) * share


def bounds_hold(round_: Round, ground: Ground) -> Iterator[str]:
    """Yield each bound that the round itself passes, and a scale of weights that is not the farm's."""
    proof, served = round_.proof, served_weights(round_, ground)
    scale = weight_scale(ground)
    yield from same(WHOLE, "weights are told in whole numbers of the farm's scale", scale, proof.weight_scale)
    if proof.rank_bounds and len(proof.rank_bounds) != len(Rank):
        yield broken(WHOLE, "there is a bound for every rank or none", f"{len(Rank)} or 0", len(proof.rank_bounds))
        return
    for rank, bound, weight in zip(Rank, proof.rank_bounds, served, strict=False):
        if bound < weight:
            yield broken(WHOLE, f"no round serves more of rank {rank} than its bound", f"{weight} or more", bound)
        if bound != weight:
            break
    away = sum(day.away_seconds for day in round_.itineraries)
    if not 0 <= proof.away_bound_seconds <= away:
        found = proof.away_bound_seconds
        yield broken(WHOLE, "no round is away for less than the bound", f"0 to {away} s", found)


def best_is_the_bound(round_: Round, ground: Ground) -> Iterator[str]:
    """Yield where a round is called proved though a bound is not what it reaches, or though a person gave its order."""
    proof = round_.proof
    if not proof.optimal:
        return
    if round_.given_order:
        yield broken(WHOLE, "a given order is not called the best", "not proven", "proven")
    served = served_weights(round_, ground)
    if proof.rank_bounds and proof.rank_bounds != served:
        expected, found = ", ".join(map(str, served)), ", ".join(map(str, proof.rank_bounds))
        yield broken(WHOLE, "what is proved to serve the most serves the bound of each rank", expected, found)
    away = sum(day.away_seconds for day in round_.itineraries)
    promise = "what is proved to be away for the least is away for the bound"
    yield from same(WHOLE, promise, away, proof.away_bound_seconds)


def a_clash_leaves_a_must_out(round_: Round, ground: Ground) -> Iterator[str]:
    """Yield where musts are said to clash though none is left out, or the words name none of those left out."""
    names = {
        ground.sites[left.site].name
        for left in round_.left_out
        if any(ground.jobs[job.id].rank in {Rank.NOW, Rank.MUST} for job in left.jobs)
    }
    if round_.clash and not any(name in round_.clash for name in names):
        expected = " or ".join(sorted(names)) or "no clash: every must is planned"
        yield broken(WHOLE, "musts are said to clash only where one is left out", expected, round_.clash)


def not_proven(proof: Proof, ground: Ground) -> Proof:
    """Return a proof that says nothing but whether the search was stopped."""
    return Proof(optimal=False, text="Not proven.", stopped=proof.stopped, weight_scale=weight_scale(ground))
