"""What to beware of on a round as one list: each caution once, those of the day first, with the stops they are for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from routing.round import Itinerary, Round
from routing.share.safety.safe import plain_text
from routing.share.wording.cautions import safety_cautions, usual_wording
from routing.share.wording.sheet_crew import CrewSheet, cautions_of
from routing.share.wording.words import short_date

LONGEST_LEAD = 30
"""Characters before the colon of a caution (`Lifting: ...`) that may stand for the whole of it."""

FEWEST_IN_A_RUN = 3
"""So many stops in a row are told as `3 to 5`."""


@dataclass(frozen=True)
class Care:
    """One caution, plain; `where` says for which stops or whose day, empty where it holds for the whole round."""

    text: str
    where: str = ""
    stops: int = 0
    """At how many stops it holds; 0 where it is of no stop."""
    usual: bool = False

    @property
    def words(self) -> str:
        """The caution with where it holds."""
        return f"{self.text} ({self.where})" if self.where else self.text

    @property
    def lead(self) -> str:
        """The first words that stand for the caution, or all of it where it has none."""
        lead, _, rest = self.text.partition(": ")
        return lead if rest and len(lead) <= LONGEST_LEAD else self.text


def emergency_number(round_: Round) -> str:
    """Return the number to call, as it stands in a sentence."""
    return plain_text(round_.emergency_number, 40) or "the emergency number"


def told_cautions(round_: Round, cautions: Sequence[str]) -> tuple[str, ...]:
    """Return cautions of jobs as they are told: plain, each once, and in the usual words where these say as much."""
    number = emergency_number(round_)
    return tuple(dict.fromkeys(plain_text(usual_wording(text, number)) for text in cautions))


def care_list(round_: Round, days: Sequence[tuple[Itinerary, CrewSheet]]) -> tuple[Care, ...]:
    """Return what to beware of on these days of a round: what is theirs, then the round's own, then the usual."""
    usual = safety_cautions(emergency_number(round_))
    found = [Care(plain_text(text), whose) for day, crew in days for text, whose in _of_the_day(day, crew)]
    marks: dict[str, list[tuple[str, int]]] = {}
    for day, crew in days:
        for stop in day.stops:
            for text in told_cautions(round_, cautions_of(stop)):
                marks.setdefault(text, []).append((crew.letter, stop.number))
    visits = sum(len(day.at_sites) for day, _ in days)
    found += [Care(text, _which(at, visits), len(at), text in usual) for text, at in marks.items()]
    own = dict.fromkeys(plain_text(caution) for caution in round_.cautions)
    found += [Care(text, usual=text in usual) for text in (*own, *usual) if text not in marks]
    return tuple(dict.fromkeys(care for care in found if care.text))


def _of_the_day(day: Itinerary, crew: CrewSheet) -> Iterator[tuple[str, str]]:
    whose = f"{crew.name}, {short_date(day.date)}" if crew.letter else ""
    yield from ((text, whose) for text in day.cautions)


def _which(marks: Sequence[tuple[str, int]], visits: int) -> str:
    """Return `every stop`, `stop 4` or `stops 3 to 5, 8`."""
    if len(marks) == visits > 1:
        return "every stop"
    runs: list[list[tuple[str, int]]] = [[marks[0]]]
    for before, mark in pairwise(marks):
        if mark == (before[0], before[1] + 1):
            runs[-1].append(mark)
        else:
            runs.append([mark])
    names = ", ".join(_run(run) for run in runs)
    return f"{'stop' if len(marks) == 1 else 'stops'} {names}"


def _run(run: Sequence[tuple[str, int]]) -> str:
    names = [f"{letter}{number}" for letter, number in run]
    return ", ".join(names) if len(names) < FEWEST_IN_A_RUN else f"{names[0]} to {names[-1]}"
