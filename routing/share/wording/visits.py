"""Every stop of a round in words, with all that an exported file says of it: worded once, as on the sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from routing.round import Itinerary, Round, Stop
from routing.share.safety.private import Private
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording.sheet_crew import CrewSheet, StopSheet, cautions_of, crew_sheet, set_down_words

PrivateLines = Mapping[str, tuple[str, ...]]
"""By site id, the lines that are added only where the farmer asks for them: gate codes, phone numbers, own notes."""

NO_LINES: PrivateLines = {}


@dataclass(frozen=True)
class Visit:
    """One stop with its crew's day, as the round has it and in words; all texts are plain."""

    itinerary: Itinerary
    stop: Stop
    crew: CrewSheet
    sheet: StopSheet
    private: tuple[str, ...]

    @property
    def title(self) -> str:
        """Return mark and site: `A3 Quarry Top`."""
        return f"{self.sheet.mark} {self.sheet.name}"

    @property
    def work(self) -> str:
        """Return the names of the jobs: `Feed fondant, Oxalic treatment`, or what is set down, or loading again."""
        if self.stop.load_again is not None:
            return "at base"
        if self.stop.set_down is not None:
            return set_down_words(self.stop.set_down)
        return ", ".join(dict.fromkeys(plain_name(job.name) for job in self.stop.jobs))

    @property
    def _times(self) -> str:
        clocks = f"arrive {self.sheet.arrive}, start {self.sheet.start}, finish {self.sheet.finish}"
        return f"{self.crew.name}: {clocks}, {self.sheet.light}."

    @property
    def lines(self) -> tuple[str, ...]:
        """Return times, jobs, what to mind there and what to beware of, a line each, private lines last."""
        cautions = (plain_text(text) for text in cautions_of(self.stop))
        return (
            self._times,
            *(f"{job}." for job in self.sheet.jobs),
            *self.sheet.details,
            *(f"Take care: {text}" for text in dict.fromkeys(cautions) if text),
            *self.private,
        )


def round_visits(round_: Round, private: PrivateLines = NO_LINES) -> tuple[Visit, ...]:
    """Return all visits in the order of the itineraries and their stops."""
    visits = []
    for index, itinerary in enumerate(round_.itineraries):
        crew = crew_sheet(round_, index)
        for stop, sheet in zip(itinerary.stops, crew.stops, strict=True):
            lines = tuple(plain_text(text) for text in private.get(stop.site, ()))
            visits.append(Visit(itinerary, stop, crew, sheet, tuple(text for text in lines if text)))
    return tuple(visits)


def private_lines(private: Private) -> PrivateLines:
    """Return what is private of each site, a line each, for those who are to have it."""
    found = {}
    for site, secret in private.items():
        labelled = (("Gate code", secret.gate_code), ("Phone", secret.phone), ("Private", secret.notes))
        found[site] = tuple(f"{label}: {text}" for label, text in labelled if text)
    return found
