"""What the panel of a plan shows, as values for its template: the days in order, what breaks, what is left out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from routing.desk.edits import Edits
from routing.desk.kept_in_files import changes_of_offer, changes_of_trial, told
from routing.desk.planner import Offer, Planner
from routing.desk.remedy_rows import remedy_rows
from routing.desk.runs import Standing
from routing.desk.trial import Shown, Trial
from routing.errors import OutyardError
from routing.farm.models import Farm
from routing.plain_words import chance_words, count, date_words, duration
from routing.round import Itinerary, LeftOut, ReasonCode, Round, Stop
from routing.share.pages.day_figure import DayFigure, figure_of
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording.answer import answer_lines
from routing.share.wording.chance import HURRY, drop_words
from routing.share.wording.differences import HEADINGS, difference_lines, table_row
from routing.share.wording.draft import StopMarks, broken_headline, crew_day_words, day_marks, draft_line
from routing.share.wording.sheet_crew import StopSheet, TripSheet, crew_sheet
from routing.share.wording.sheet_left_out import left_out_sheet
from routing.stages.ask import Chance

LONGEST_TOLD = 300
"""Characters of a sentence that is told of a round that cannot be worked on."""


@dataclass(frozen=True)
class StopRow:
    """One line of a day's list; `job` is empty where nothing can be moved: at base, or where hives are set down."""

    job: str
    place: int
    of: int
    sheet: StopSheet
    marks: StopMarks
    pin: str
    arrive: str
    """To the second, as `round.json` has it; so are the two that follow."""
    start: str
    finish: str


@dataclass(frozen=True)
class DayPanel:
    """One crew's day; without a figure where the crew stays at home or no time can be told."""

    value: str
    """`crew|date`, as the page sends it back."""
    title: str
    leave: str = ""
    home: str = ""
    leaves: str = ""
    """To the second, as `round.json` has it; so is the next."""
    homes: str = ""
    figure: DayFigure | None = None
    rows: tuple[StopRow, ...] = ()
    whole: tuple[str, ...] = ()
    trips: tuple[TripSheet, ...] = ()
    call_ins: tuple[tuple[str, str], ...] = ()
    untimed: tuple[tuple[str, str], ...] = ()
    """Where no time can be told: by job, the names of the stops in order."""


def panel_values(
    planner: Planner, farm: Farm, dates: Sequence[dt.date], trial: Trial | None, edits: Edits
) -> dict[str, object]:
    """Return all that the panel's template asks for."""
    run = planner.runs.run
    standing = None if run is None or not run.standing.running else run.standing
    offer = planner.offers.get(tuple(dates))
    values: dict[str, object] = {
        "on": dates[0].isoformat(),
        "days_asked": len(dates),
        "date_words": date_words(dates[0]),
        "running": None if standing is None else progress(standing),
        "trouble": planner.trouble.get(tuple(dates), ""),
        "offer": None if offer is None else _offer(offer, farm, dates, edits),
        "trial": None,
        "several_crews": len(farm.crews) > 1 or len(dates) > 1,
    }
    if trial is None:
        return values
    try:
        return values | {"trial": {**_trial(trial, farm), "files": _trial_files(trial, farm, edits)}}
    except OutyardError as error:  # what is written is of other jobs or crews than there are now
        why = plain_text(str(error).splitlines()[0], LONGEST_TOLD)
        return values | {"trouble": f"What is written cannot be changed by hand any more; plan anew: {why}"}


def progress(standing: Standing) -> dict[str, str]:
    """Return where a search stands, in words, and the share of its time that is gone, empty where there is no limit."""
    best = standing.best
    done = "Nothing is found yet."
    if best is not None:
        longest = f", longest day {duration(best.longest_seconds)}" if best.longest_seconds else ""
        done = f"Best so far: {best.jobs} of {count(best.of, 'job')}, {duration(best.away_seconds)} away{longest}."
    which = f"{standing.done + 1} of {standing.of}: {plain_text(standing.doing)}" if standing.of > 1 else ""
    gone, limit = int(standing.seconds_gone), standing.limit
    clock = f"{gone} s gone" if limit is None else f"{min(gone, limit)} of {limit} s gone"
    end = "it ends by itself when nothing more is gained" if limit is None else "or sooner, where the best is proven"
    stopping = "Stopping: the best until now is kept." if standing.stopping else ""
    return {
        "which": which,
        "best": stopping or done,
        "clock": f"{clock}; {end}.",
        "gone": str(min(gone, limit or gone)),
        "limit": "" if limit is None else str(limit),
    }


def _trial_files(trial: Trial, farm: Farm, edits: Edits) -> dict[str, object] | None:
    if not trial.state.assumed:
        return None
    changes = changes_of_trial(farm, trial)
    return told(edits, changes, anew=not changes.settings)


def _offer(offer: Offer, farm: Farm, dates: Sequence[dt.date], edits: Edits) -> dict[str, object]:
    held = [changes_of_offer(farm, dates, offer, number) for number in range(len(offer.rows))]
    rows = [
        {
            "cells": table_row(one.words, one.round),
            "differences": difference_lines(offer.beside, one.round),
            "answer": answer_lines(one.round, one.round.chance.text if one.round.chance else ""),
            "proof": plain_text(one.round.proof.text),
            "assumed": [plain_text(words) for words in one.assumed],
            "same": one.round is offer.beside,
            "number": number,
            "files": told(edits, changes, anew=not changes.settings),
        }
        for number, (one, changes) in enumerate(zip(offer.rows, held, strict=True))
    ]
    return {"title": plain_text(offer.title), "headings": HEADINGS, "rows": rows}


def _trial(trial: Trial, farm: Farm) -> dict[str, object]:
    shown, state = trial.shown(), trial.state
    round_ = shown.round
    days = _days(trial, shown)
    chance = round_.chance.text if round_.chance and shown.holds else ""
    lines = (
        answer_lines(round_, chance) if shown.holds else (broken_headline(round_, shown.breaches, trial.crew_names),)
    )
    left = [_left(round_, number, entry) for number, entry in enumerate(round_.left_out)]
    return {
        "seen": trial.version,
        "holds": shown.holds,
        "headline": lines[0],
        "lines": lines[1:],
        "proof": plain_text(round_.proof.text) if shown.holds else "",
        "remedies": [plain_text(each) for each in round_.chance.remedies] if round_.chance and shown.holds else [],
        "days": days,
        "choices": [(day.value, day.title) for day in days],
        "left": [entry for entry in left if not entry["later"]],
        "later": [entry for entry in left if entry["later"]],
        "undo": plain_text(state.told) if trial.may_undo else "",
        "may_undo": trial.may_undo,
        "may_redo": trial.may_redo,
        "assumed": [plain_text(words) for words in state.assumed],
        "pinned": bool(trial.pinned()),
        "stale": trial.stale(farm),
        "written": state.untouched and trial.is_written(farm),
        "faults": [plain_text(each) for each in round_.faults],
    }


def _days(trial: Trial, shown: Shown) -> list[DayPanel]:
    round_, ready = shown.round, trial.ready
    several = len({date for _, date in ready.crew_days}) > 1
    made = {(day.crew, day.date): number for number, day in enumerate(round_.itineraries)}
    untimed = {(day.crew, day.date): day for day in shown.untimed}
    found = []
    for crew, date in ready.crew_days:
        title = crew_day_words(ready.farm.crew(crew).name, date, several_days=several)
        value = f"{crew}|{date.isoformat()}"
        if (crew, date) in made:
            found.append(_day(trial, shown, made[crew, date], value, title))
        elif (crew, date) in untimed:
            names = tuple((stop[0], plain_name(trial.name_of(stop))) for stop in untimed[crew, date].stops)
            own = [b for b in shown.breaches if (b.crew, b.date) == (crew, date)]
            whole = tuple(plain_text(breach.text) for breach in own)
            found.append(DayPanel(value, title, whole=whole, untimed=names))
        else:
            found.append(DayPanel(value, title))
    return found


def _day(trial: Trial, shown: Shown, index: int, value: str, title: str) -> DayPanel:
    day = shown.round.itineraries[index]
    crew, marks = crew_sheet(shown.round, index), day_marks(day, shown.breaches)
    return DayPanel(
        value=value,
        title=title,
        leave=crew.leave,
        home=crew.home,
        leaves=day.leave.isoformat(),
        homes=day.home.isoformat(),
        figure=figure_of(draft_line(shown.round, index, crew, marks)),
        rows=tuple(_rows(trial, day, crew.stops, marks.stops)),
        whole=marks.whole,
        trips=crew.trips,
        call_ins=crew.call_ins,
    )


def _rows(trial: Trial, day: Itinerary, sheets: Sequence[StopSheet], marks: Sequence[StopMarks]) -> list[StopRow]:
    of, place, found = sum(bool(stop.jobs) for stop in day.stops), 0, []
    for stop, sheet, mark in zip(day.stops, sheets, marks, strict=True):
        job = stop.jobs[0].id if stop.jobs else ""
        moments = (stop.arrive.isoformat(), stop.start.isoformat(), stop.finish.isoformat())
        found.append(StopRow(job, place, of, sheet, mark, _pin(trial, stop), *moments))
        place += bool(stop.jobs)
    return found


def _pin(trial: Trial, stop: Stop) -> str:
    kinds = [trial.state.pins[job.id] for job in stop.jobs if job.id in trial.state.pins]
    return kinds[0].value if kinds else ""


def _left(round_: Round, number: int, left: LeftOut) -> dict[str, object]:
    sheet = left_out_sheet(round_, left)
    return {
        "number": number,
        "later": left.reason is ReasonCode.NOT_DUE,
        "sheet": sheet,
        "jobs": [job.id for job in left.jobs],
        "job": left.jobs[0].id,
        "own": left.reason is ReasonCode.NOT_ASKED,
        "remedies": remedy_rows(left),
    }


def chance_values(found: Chance) -> dict[str, object]:
    """Return how likely each stop of each crew is in time, for its template."""
    crews = [
        {
            "name": plain_name(crew.crew_name),
            "chance": chance_words(crew.chance),
            "stops": [
                (str(stop.number), plain_name(stop.name), f"{stop.closes:%H:%M}", chance_words(stop.chance))
                for stop in crew.stops
            ],
            "home": (f"{crew.home_by:%H:%M}", chance_words(crew.home_chance)),
            "drops": [drop_words(drop) for drop in behind],
        }
        for crew, behind in zip(found.odds.crews, found.drops, strict=True)
    ]
    return {
        "days": f"{found.odds.days:,}",
        "whole": chance_words(found.odds.chance),
        "crews": crews,
        "hurry": HURRY,
        "rests": [
            f"{name}: spread {figure.value:g} ({plain_text(figure.source)})" for name, figure in found.spread.figures
        ],
    }
