"""A visit that no crew makes, in words: what, why, and what would save it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from routing.farm.models import BASE
from routing.round import Insertion, LeftOut, ReasonCode, Remedy, RemedyKind, Round, Shortfall
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording import words
from routing.share.wording.sheet_crew import job_words


@dataclass(frozen=True)
class LeftOutSheet:
    """A left-out visit in words; `cheapest` is empty where the reason holds for the visit alone."""

    name: str
    jobs: tuple[str, ...]
    reason: str
    standing: str
    """Whether the reason is certain, in words."""
    text: str
    cheapest: str
    remedies: tuple[str, ...]
    """What would save it, a sentence each."""


def left_out_sheet(round_: Round, left: LeftOut) -> LeftOutSheet:
    """Return one left-out visit in words."""
    return LeftOutSheet(
        name=plain_name(left.name),
        jobs=tuple(job_words(job) for job in left.jobs),
        reason=left.reason.value,
        standing=_standing(left.reason),
        text=_sentence(left.text),
        cheapest=_cheapest(round_, left, left.insertion) if left.insertion is not None else "",
        remedies=_saving(left.remedies),
    )


def _saving(remedies: Sequence[Remedy]) -> tuple[str, ...]:
    """Return what would save it in a sentence, and apart from it more light: that is nobody's to give."""
    light = [plain_text(remedy.text).rstrip(".") for remedy in remedies if remedy.kind is RemedyKind.MORE_LIGHT]
    rest = [plain_text(remedy.text).rstrip(".") for remedy in remedies if remedy.kind is not RemedyKind.MORE_LIGHT]
    told = [f"What would save it: {'; or '.join(rest)}."] if rest else []
    return (*told, *(f"It would {'also ' if rest else ''}fit with {text}." for text in light))


def _sentence(text: str) -> str:
    plain = plain_text(text)
    return f"{plain[:1].upper()}{plain[1:]}{'' if plain.endswith(('.', '…')) else '.'}" if plain else ""


def _standing(reason: ReasonCode) -> str:
    if reason is ReasonCode.NOT_DUE:
        return "certain: not yet wanted on this date"
    if reason is ReasonCode.NOT_ASKED:
        return "because of the order that you gave"
    return "certain: true of this visit alone" if reason.certain else "depends on what else is planned"


def _cheapest(round_: Round, left: LeftOut, insertion: Insertion) -> str:
    """Return where the visit would cost least, and what it would break there."""
    crews = {itinerary.crew: itinerary.crew_name for itinerary in round_.itineraries}
    names = {stop.site: stop.name for itinerary in round_.itineraries for stop in itinerary.stops}
    crew = plain_name(crews.get(insertion.crew, insertion.crew))
    after = "base" if insertion.after == BASE else plain_name(names.get(insertion.after, insertion.after))
    joins = insertion.after == left.site and _is_stop_for_work(round_, left, insertion)
    place = "at the stop already planned there" if joins else f"after {after}"
    when = f" on {words.date_words(insertion.date)}" if len(round_.dates) > 1 else ""
    text = f"Tried: {crew}{when}, {place}: "
    short = " and ".join(_lack(lack) for lack in insertion.shortfalls)
    if insertion.extra_seconds is None:
        return f"{text}{short}."
    longer = f"{words.duration(insertion.extra_seconds)} longer"
    return f"{text}{longer}, and {short}." if short else f"{text}{longer}."


def _lack(lack: Shortfall) -> str:
    """Return by how much one limit would be passed: `1 h 27 past working light`, `12.5 kg over the payload`."""
    amount = words.amount_words(lack.amount, plain_text(lack.unit, 20))
    what = plain_text(lack.what, 100)
    if lack.unit == "seconds":
        return f"{amount} past {'the time to be home' if what == 'home by' else what}"
    return f"{amount} more than the {what}"


def _is_stop_for_work(round_: Round, left: LeftOut, insertion: Insertion) -> bool:
    """Return whether the crew has a stop at the site that the work could join: a move of hives joins none."""
    return not any(job.to for job in left.jobs) and any(
        stop.site == left.site and stop.jobs and not any(job.to for job in stop.jobs)
        for day in round_.itineraries
        if (day.crew, day.date) == (insertion.crew, insertion.date)
        for stop in day.stops
    )
