"""What of a round holds: a false sentence or a day that does not hold is left away, and the fault is told instead."""

from __future__ import annotations

from routing.check.breaks import with_right_caution
from routing.check.calls import with_right_places
from routing.check.excused import NOT_KNOWN, REPORT, STILL_FITS
from routing.check.ground import Ground
from routing.check.judgement import Beside, Broken, Judgement
from routing.check.promises import judged
from routing.check.proved import not_proven
from routing.check.taken_out import without_what_fails
from routing.errors import CheckFailed
from routing.farm.models import Farm
from routing.round import Itinerary, LeftOut, ReasonCode, Round
from routing.travel.legs import Legs

MOST_STEPS = 8
"""Steps of leaving away besides one for each day: what is left is judged anew after each."""


def what_holds(round_: Round, farm: Farm, legs: Legs) -> Round:
    """Return the round where it keeps every promise, else what of it does, with the faults told in it.

    A false sentence beside the round is left away. Where a crew's day does not hold, it is taken out and its jobs are
    left out. Raises CheckFailed with every broken promise where nothing of that makes a good round.
    """
    first = judgement = judged(round_, farm, legs)
    ground = Ground.of(farm, legs)
    for _ in range(len(round_.itineraries) + MOST_STEPS):
        if not judgement.sentences:
            return round_
        step = without_what_fails if judgement.round_broken else _without_sentences
        changed = step(round_, judgement, ground)
        if changed == round_:
            break
        round_, judgement = changed, judged(changed, farm, legs)
    raise CheckFailed(first.sentences)


def _without_sentences(round_: Round, judgement: Judgement, ground: Ground) -> Round:
    """Return the round without the sentences found false, or with those put right that must not be missing."""
    left, days, faults = list(round_.left_out), list(round_.itineraries), list(round_.faults)
    for broken in judgement.beside:
        if broken.day is not None:
            days[broken.day] = _put_right(days[broken.day], broken, ground)
        if broken.entry is not None:
            left[broken.entry] = _silenced(left[broken.entry], broken)
    faults += dict.fromkeys(_fault(round_, broken) for broken in judgement.beside)
    found = {broken.what for broken in judgement.beside}
    return round_.model_copy(
        update={
            "itineraries": tuple(days),
            "left_out": tuple(left),
            "faults": tuple(faults),
            "proof": not_proven(round_.proof, ground) if Beside.PROOF in found else round_.proof,
            "even": None if Beside.EVEN in found else round_.even,
            "clash": "" if Beside.CLASH in found else round_.clash,
        }
    )


def _put_right(day: Itinerary, broken: Broken, ground: Ground) -> Itinerary:
    if broken.what is Beside.FIELD:
        return day.model_copy(update={"numbers": None})
    return (with_right_places if broken.what is Beside.CALLS else with_right_caution)(day, ground)


def _silenced(left: LeftOut, broken: Broken) -> LeftOut:
    if broken.what is Beside.INSERTION:
        return left.model_copy(update={"insertion": None})
    if broken.what is Beside.REMEDIES:
        return left.model_copy(update={"remedies": ()})
    if broken.what is Beside.REASON:
        silent = {"reason": ReasonCode.NO_ROOM, "text": NOT_KNOWN, "insertion": None, "remedies": ()}
        return left.model_copy(update=silent)
    return left


def _fault(round_: Round, broken: Broken) -> str:
    begins = "A fault of the program: the check found"
    if broken.day is not None:
        day = round_.itineraries[broken.day]
        return f"{begins} {broken.what} in the day of {day.crew_name} on {day.date}; it was put right. {REPORT}"
    if broken.entry is None:
        return f"{begins} {broken.what}; that sentence was left away. {REPORT}"
    left = round_.left_out[broken.entry]
    site = left.name or left.site
    if broken.what is Beside.ROOM:
        return f"{begins} work {STILL_FITS} at {site}, where it is left out. {REPORT}"
    return f"{begins} {broken.what} at {site}; that sentence was left away. {REPORT}"
