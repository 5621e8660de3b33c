"""The round in words: every line that an output shows, worded once, so that screen, paper and map say the same.

All texts have been through `plain_text`; none is escaped for its medium yet. Times and amounts follow `words`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from routing.round import ReasonCode, Round
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording.answer import answer_lines
from routing.share.wording.care import Care, care_list
from routing.share.wording.persons import crew_total
from routing.share.wording.sheet_crew import CrewSheet, crew_sheet
from routing.share.wording.sheet_left_out import LeftOutSheet, left_out_sheet
from routing.share.wording.words import count, date_words

TWO = 2
"""Two days in a row are as short when each is named."""

FOOTNOTES = (
    "Times are whole minutes, rounded to the safe side, so a drive and a stop may differ from the clock by a minute.",
    "Before dark is before civil dusk, when the sun is 6 degrees down.",
    "Light left is from the finish to the end of working light or of opening hours, whichever comes first.",
    "What is proved is proved of rounds that stop at a site once for all that can be done there together.",
)


@dataclass(frozen=True)
class Sheet:
    """A round in words; `crews` and `left_out` are in the order of the round's own."""

    title: str
    farm: str
    base: str
    origin: str
    """Where the round starts: base, or where the crew stands in the rest of a day."""
    dates: str
    answer: tuple[str, ...]
    """What is told first: before dark or not, when to leave, what must be done and is not, what to buy or ask."""
    visits: str
    """How many visits by how many crews, and how much is left out."""
    even: str
    """What even days took, where they were asked for."""
    chance: tuple[str, ...]
    """How likely the round holds, what would help, and what its order costs, a sentence each."""
    crews: tuple[CrewSheet, ...]
    left_out: tuple[LeftOutSheet, ...]
    proof: str
    proof_text: str
    estimates: tuple[str, ...]
    care: tuple[Care, ...]
    """What to beware of, each once, that of these days first."""
    warnings: tuple[str, ...]
    faults: tuple[str, ...]
    """Faults of the program that the check found."""
    footnotes: tuple[str, ...]

    @property
    def headline(self) -> str:
        """The first line of the answer."""
        return self.answer[0]

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to beware of in words, a paragraph each."""
        return tuple(care.words for care in self.care)

    @property
    def end(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """What stands below the crews' days and what is left out, each under its title; some may have no line."""
        return (
            ("Faults of the program", self.faults),
            ("What is estimated", self.estimates),
            ("Warnings", self.warnings),
            ("Take care", self.cautions),
            ("How to read this", self.footnotes),
        )


def round_sheet(round_: Round) -> Sheet:
    """Return the whole round in words. Raises ZoneInfoNotFoundError where the round's time zone is not one."""
    dates = _dates_words(round_.dates)
    crews = tuple(crew_sheet(round_, index) for index in range(len(round_.itineraries)))
    return Sheet(
        title=f"Round for {dates}" if dates else "Round",
        farm=plain_name(round_.farm),
        base=plain_name(round_.base_name),
        origin=plain_name(round_.base_name if round_.start is None else round_.start.name),
        dates=dates,
        answer=answer_lines(round_, round_.chance.text if round_.chance else ""),
        visits=_visits(round_),
        even=plain_text(round_.even.text) if round_.even else "",
        chance=tuple(plain_text(text) for text in _chance(round_)),
        crews=crews,
        left_out=tuple(left_out_sheet(round_, left) for left in round_.left_out),
        proof="How good this round is",
        proof_text=plain_text(f"{round_.proof.text} {round_.clash}".strip()),
        estimates=tuple(plain_text(text) for text in round_.estimates),
        care=care_list(round_, tuple(zip(round_.itineraries, crews, strict=True))),
        warnings=tuple(plain_text(text) for text in round_.warnings),
        faults=tuple(plain_text(text) for text in round_.faults),
        footnotes=FOOTNOTES,
    )


def _chance(round_: Round) -> tuple[str, ...]:
    """Return what would make the round hold, and what the surest order costs; the chance itself is in the answer."""
    surest = (round_.surest.text,) if round_.surest else ()
    return (*round_.chance.remedies, *surest) if round_.chance else surest


def _dates_words(dates: Sequence[dt.date]) -> str:
    """Return the dates one by one, or, of more than two in a row, the first and the last."""
    if len(dates) > TWO and (dates[-1] - dates[0]).days == len(dates) - 1:
        return f"{len(dates)} days, {date_words(dates[0])} to {date_words(dates[-1])}"
    return ", ".join(date_words(date) for date in dates)


def _visits(round_: Round) -> str:
    visits = sum(len(itinerary.at_sites) for itinerary in round_.itineraries)
    crews = crew_total(round_)
    who = plain_name(round_.itineraries[0].crew_name) if crews == 1 else count(crews, "crew")
    days = len({itinerary.date for itinerary in round_.itineraries})
    planned = f"{count(visits, 'visit')} by {who}{f' on {count(days, "day")}' if len(round_.dates) > 1 else ''}"
    due = [left for left in round_.left_out if left.reason is not ReasonCode.NOT_DUE]
    later = sum(len(left.jobs) for left in round_.left_out) - sum(len(left.jobs) for left in due)
    ending = f" {count(later, 'job')} not due yet." if later else ""
    if not due:
        return f"{planned}; every job that is due is planned.{ending}"
    sites = count(len({left.site for left in due}), "site")
    return f"{planned}; {count(sum(len(left.jobs) for left in due), 'job')} at {sites} left out, see why below.{ending}"
