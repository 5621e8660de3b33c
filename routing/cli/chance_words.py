"""The chance of a day, and what the record teaches, in the words that are printed."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from routing.plain_words import chance_words, date_words
from routing.share import terminal
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording.chance import HURRY, at_minute, drop_words
from routing.share.wording.words import minute_at_stop, minute_reached

if TYPE_CHECKING:
    from routing.farm.models import Farm
    from routing.planning.chance.simulate import CrewOdds
    from routing.season.learn import Lessons
    from routing.share.terminal.chance import ChanceRow, CrewChance, LearnedRow
    from routing.stages.ask import Chance


def of_chance(date: dt.date, found: Chance) -> tuple[str, str, list[CrewChance], list[str]]:
    """Return the title, the headline, each crew's rows and the notes of a day's chance."""
    odds = found.odds
    crews = [
        terminal.CrewChance(
            title=f"Crew {plain_name(crew.crew_name)}",
            chance=chance_words(crew.chance),
            rows=_rows(crew),
            drops=tuple(drop_words(drop) for drop in drops),
        )
        for crew, drops in zip(odds.crews, found.drops, strict=True)
    ]
    headline = (
        f"All that is planned is done in time on {chance_words(odds.chance)} of {odds.days:,} simulated days."
        if crews
        else "Nothing is planned on this date."
    )
    notes = [
        *(
            f"{name}: spread {figure.value:g} ({plain_text(figure.source)})"
            for name, figure in (found.spread.figures if crews else ())
        ),
        *(plain_text(text) for text in found.round.estimates),
        *((HURRY,) if crews else ()),
    ]
    return f"Chance for {date_words(date)}", headline, crews, notes


def of_lessons(written: Farm, lessons: Lessons) -> tuple[str, list[LearnedRow], list[str]]:
    """Return the headline, a row for each estimate with its source, and the notes of what a record teaches."""
    names = {
        **{id_: kind.name for id_, kind in written.job_kinds.items()},
        **{site.id: site.name for site in written.sites},
        **{crew.id: crew.name for crew in written.crews},
        "drive": "all estimated drives",
    }
    rows = [
        terminal.LearnedRow(
            what=found.what,
            name=plain_name(names[found.id]),
            factor=f"{found.factor:.2f}",
            band=f"{found.low:.2f} to {found.high:.2f}",
            source=found.source,
        )
        for found in lessons.estimates
    ]
    headline = (
        f"Learned from {lessons.visits} visits."
        if rows
        else "Nothing is recorded yet: write visits.csv (date, site, kinds, crew, people, hives, minutes)."
    )
    return headline, rows, [plain_text(text) for text in (*lessons.set_aside, *lessons.doubted)]


def _rows(crew: CrewOdds) -> tuple[ChanceRow, ...]:
    stops = [
        terminal.ChanceRow(
            mark=str(stop.number),
            name=plain_name(stop.name),
            finish=at_minute(minute_at_stop(stop.finish, stop.closes), stop.finish),
            late_finish=at_minute(minute_reached(stop.late_finish), stop.late_finish),
            must_end=f"{stop.closes:%H:%M}",
            chance=chance_words(stop.chance),
        )
        for stop in crew.stops
    ]
    home = terminal.ChanceRow(
        mark="",
        name="Home",
        finish=at_minute(minute_reached(crew.home), crew.home),
        late_finish=at_minute(minute_reached(crew.late_home), crew.late_home),
        must_end=f"{crew.home_by:%H:%M}",
        chance=chance_words(crew.home_chance),
    )
    return (*stops, home)
