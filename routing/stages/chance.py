"""From a farm to the chance that its day holds, and to what its record taught: the stages of that in order."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import TYPE_CHECKING

from routing.farm.models import Farm, Figure
from routing.farm.ways import ways_of
from routing.plain_words import chance_words, date_words
from routing.planning.chance.chance_constraint import plan_sure
from routing.planning.chance.recourse import Drop, drops
from routing.planning.chance.simulate import CrewOdds, odds, simulate
from routing.planning.chance.spread import Spread
from routing.season.learn import Lessons, learn, with_learned
from routing.season.record_tables import read_records
from routing.season.records import DriveRecord
from routing.share.safety.safe import plain_name, plain_text
from routing.share.terminal.chance import ChanceRow, CrewChance, LearnedRow, print_chances, print_learned
from routing.share.wording.words import minute_at_stop, minute_by, minute_reached
from routing.stages import day as pipeline
from routing.stages.record import has_log, past_visits
from routing.travel.farm import farm_and_legs
from routing.travel.legs import LegOrigin
from routing.weather.limits import finish_early_seconds

if TYPE_CHECKING:
    from rich.console import Console

    from routing.round import Round

ENOUGH_VISITS = 20
"""With fewer recorded visits the spreads stay at their defaults; common practice, no source."""

HURRY = "Skip a stop rather than hurry with bees, lift in haste or drive tired: no plan is worth an accident."


def lessons_of(farm: Farm) -> Lessons:
    """Return what the record in the farm's folder teaches, against the farm as it is written. Raises FarmError."""
    visits, drives = read_records(farm.folder, ways_of(farm.time_zone))
    if has_log(farm.folder):
        # Past visits of the log come in only where there is one: it brings a database along.
        from routing.season.log import Log  # noqa: PLC0415

        visits = (*visits, *past_visits(farm, Log.record_of(farm.folder)))
    return learn(farm, visits, _on_estimates(farm, drives) if drives else ())


def as_recorded(farm: Farm) -> Farm:
    """Return the farm with the minutes, paces, drive factor and spreads that its record teaches. Raises FarmError."""
    lessons = lessons_of(farm)
    learned, spread = with_learned(farm, lessons), spread_of(lessons)
    if spread == Spread():
        return learned
    return learned.model_copy(update={"spreads": {"visit": spread.visit, "day_work": spread.day_work}})


def spread_of(lessons: Lessons) -> Spread:
    """Return the spreads of this farm: from its record where that is long enough, else the defaults."""
    usual = Spread()
    if lessons.visits < ENOUGH_VISITS:
        return usual
    source = f"learned from {lessons.visits} visits"
    return usual.model_copy(
        update={
            "visit": Figure(value=round(lessons.visit_sd, 3), source=source, confidence="farm"),
            "day_work": Figure(value=round(lessons.day_sd, 3), source=source, confidence="farm"),
        }
    )


def sure_round(written: Farm, date: dt.date, sure: float) -> Round:
    """Return a checked round that holds with this chance. Raises AskedError where none does."""
    farm = as_recorded(written)
    return plan_sure(farm, lambda tight: pipeline.plan(tight, date), sure, Spread.of(farm)).round


def print_chance(written: Farm, date: dt.date, console: Console) -> None:
    """Plan the date, live through it many times and print the chances, and what to drop when behind."""
    farm = as_recorded(written)
    spread = Spread.of(farm)
    round_ = pipeline.plan(farm, date)
    simulated = simulate(round_, spread, finish_early_seconds(farm.rules))
    found, legs = odds(simulated), farm_and_legs(farm)[1]
    crews = [
        CrewChance(
            title=f"Crew {plain_name(crew.crew_name)}",
            chance=chance_words(crew.chance),
            rows=_rows(crew),
            drops=tuple(_drop_words(drop) for drop in drops(day, legs, day.itinerary.vehicle)),
        )
        for crew, day in zip(found.crews, simulated, strict=True)
    ]
    headline = (
        f"All that is planned is done in time on {chance_words(found.chance)} of {found.days:,} simulated days."
        if crews
        else "Nothing is planned on this date."
    )
    notes = [
        *(
            f"{name}: spread {figure.value:g} ({plain_text(figure.source)})"
            for name, figure in (spread.figures if crews else ())
        ),
        *(plain_text(text) for text in round_.estimates),
        *((HURRY,) if crews else ()),
    ]
    print_chances(f"Chance for {date_words(date)}", headline, crews, notes, console)


def print_lessons(written: Farm, console: Console) -> None:
    """Print what the record teaches, with the source of each estimate."""
    lessons = lessons_of(written)
    names = {
        **{id_: kind.name for id_, kind in written.job_kinds.items()},
        **{site.id: site.name for site in written.sites},
        **{crew.id: crew.name for crew in written.crews},
        "drive": "all estimated drives",
    }
    rows = [
        LearnedRow(
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
    print_learned(headline, rows, [plain_text(text) for text in (*lessons.set_aside, *lessons.doubted)], console)


def _on_estimates(farm: Farm, drives: Sequence[DriveRecord]) -> tuple[DriveRecord, ...]:
    """Return the drives that the farm only estimates, each against its estimate of today.

    What was planned at the time may rest on an older drive factor; learning from it again would turn in a circle.
    """
    legs = farm_and_legs(farm)[1]
    found = []
    for drive in drives:
        if drive.start not in legs.places or drive.end not in legs.places:
            found.append(drive)
            continue
        i, j = legs.index(drive.start), legs.index(drive.end)
        if legs.origins[i][j] is LegOrigin.ESTIMATE and legs.seconds[i, j] > 0:
            found.append(drive.model_copy(update={"planned_seconds": float(legs.seconds[i, j])}))
    return tuple(found)


def _rows(crew: CrewOdds) -> tuple[ChanceRow, ...]:
    stops = [
        ChanceRow(
            mark=str(stop.number),
            name=plain_name(stop.name),
            finish=_shown(minute_at_stop(stop.finish, stop.closes), stop.finish),
            late_finish=_shown(minute_reached(stop.late_finish), stop.late_finish),
            must_end=f"{stop.closes:%H:%M}",
            chance=chance_words(stop.chance),
        )
        for stop in crew.stops
    ]
    home = ChanceRow(
        mark="",
        name="Home",
        finish=_shown(minute_reached(crew.home), crew.home),
        late_finish=_shown(minute_reached(crew.late_home), crew.late_home),
        must_end=f"{crew.home_by:%H:%M}",
        chance=chance_words(crew.home_chance),
    )
    return (*stops, home)


def _shown(minute: dt.datetime, moment: dt.datetime) -> str:
    """Return a minute in the zone of the moment, as the plan of the same day shows it."""
    return f"{minute.astimezone(moment.tzinfo):%H:%M}"


def _drop_words(drop: Drop) -> str:
    planned = _shown(minute_reached(drop.leave), drop.leave)
    after = _shown(max(minute_by(drop.after), minute_reached(drop.leave)), drop.leave)
    return (
        f"If you leave {plain_name(drop.leaving)} after {after} (planned {planned}), skip "
        f"{plain_name(drop.skip)}: the rest then fits, likelier than not, until {drop.until:%H:%M}. "
        f"You are that late on {chance_words(drop.need)} of days."
    )
