"""The straight line from a farm folder to a checked round: the only place that knows every stage."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from pydantic import ValidationError

from routing.check import broken_promises, what_holds
from routing.daylight.sun import sun_day
from routing.daylight.windows import working_light
from routing.errors import AskedError
from routing.farm.apart import clashes
from routing.farm.models import BASE, Farm, LightNeed, Site, Underway
from routing.farm.places import parse_place
from routing.planning.ask.fit import MOST_SEARCHED, too_full
from routing.planning.ask.moment import Moment, aboard_now, crew_out, had_until
from routing.planning.ask.own_order import OwnOrder
from routing.planning.ask.rest_of_day import HERE, from_here, rest_of_day
from routing.planning.ask.rest_round import rest_round, told_in_the_field
from routing.planning.ask.what_if import Changes, changed
from routing.planning.chance.holding import with_chance
from routing.planning.day import Wish, plan_days
from routing.planning.day_numbers import with_numbers
from routing.planning.explain.split import cut_into, cuts_in
from routing.planning.model.build import build_days
from routing.planning.shared_out import fit_shared, own_order_shared, plan_shared
from routing.round import FitAnswer, FitProof, Round
from routing.share.safety.safe import plain_text
from routing.travel.farm import (
    farm_and_base_legs,
    farm_and_legs,
    farm_road_report,
    prepare_roads,
    with_needed_sites,
)
from routing.travel.legs import Legs
from routing.weather.frost import first_frost

LOG = "log.sqlite"

if TYPE_CHECKING:
    from routing.season.asked import Asked
    from routing.season.entries import Record
    from routing.share.terminal.light import LightRow

TOLD_LONGEST, MOST_TOLD = 300, 10
"""Characters of a sentence, and sentences, that are told of a saved round that does not hold."""


def season(farm: Farm, date: dt.date) -> Farm:
    """Return the farm with the jobs that are due on a date, where its folder has a log or jobs.csv has no job.

    Without a log nothing is known of what was done, so a farm that lists its jobs itself is planned as it stands.
    """
    if farm.season is None or (farm.jobs and not (farm.folder / LOG).exists()):
        return farm
    from routing.season.jobs import with_due_jobs  # noqa: PLC0415 - it brings a database along

    return with_due_jobs(asked(farm, date))


def asked(farm: Farm, date: dt.date, record: Record | None = None) -> Asked:
    """Return what due dates are reckoned from on a date: for plan, due, feed, fit and the season's page alike.

    The farm in it has only what is left of its rows of jobs.csv, with a warning for each that is done. `record` is the
    log of the farm's folder where it is not given. Raises LogError.
    """
    from routing.season.asked import Asked  # noqa: PLC0415 - it brings a database along
    from routing.season.log import Log  # noqa: PLC0415
    from routing.season.rows import rows, with_open_rows  # noqa: PLC0415

    frost = first_frost(farm.forecast, ZoneInfo(farm.time_zone)) if farm.forecast else None
    before = Asked(farm, Log.record_of(farm.folder) if record is None else record, date, frost_on=frost)
    return replace(before, farm=with_open_rows(farm, rows(before)))


def _to_plan(farm: Farm, date: dt.date) -> Farm:
    """Return the farm with the jobs that are due on a date.

    Raises AskedError where hives are to be moved from or to a site whose suspect brood the log has not cleared, or a
    row asks for what may not be there beside what the log says is.
    """
    if any(job.to for job in farm.jobs) and (farm.folder / LOG).exists():
        from routing.season.checked import require_healthy_moves  # noqa: PLC0415

        now = asked(farm, date)
        require_healthy_moves(now.farm, now.record, date)
    return _apart(season(farm, date), date)


def _apart(farm: Farm, date: dt.date) -> Farm:
    """Return the farm without due jobs that may not be done beside others, such as supers where strips are in.

    Raises AskedError where a row of jobs.csv asks for one.
    """
    clashing = clashes(farm.job_kinds)
    if not any(job.kind in clashing for job in farm.jobs):
        return farm
    from routing.season.apart import kept_apart  # noqa: PLC0415 - it brings a database along
    from routing.season.entries import Record  # noqa: PLC0415
    from routing.season.log import Log  # noqa: PLC0415

    record = Log.record_of(farm.folder) if (farm.folder / LOG).exists() else Record()
    return kept_apart(farm, record, date)


def plan(farm: Farm, *dates: dt.date, wish: Wish | None = None, keep_stopped: bool = False) -> Round:
    """Return the checked round of one date, or of several in order.

    Where it breaks a promise, what holds of it is returned and the fault told in its `faults`. Raises CheckFailed where
    nothing of it holds.

    A job too long or too heavy for any one visit is shared out over several days or crews where there are any. Ctrl-C
    raises KeyboardInterrupt; where `keep_stopped`, only while there is no round yet.
    """
    farm, legs = farm_and_legs(with_needed_sites(_to_plan(farm, dates[-1])))
    farm, round_ = plan_shared(farm, legs, dates, wish)
    return _checked(farm, legs, round_, keep_stopped=keep_stopped)


def _checked(farm: Farm, legs: Legs, round_: Round, *, keep_stopped: bool) -> Round:
    if round_.proof.stopped and not keep_stopped:
        raise KeyboardInterrupt
    return with_chance(what_holds(with_numbers(round_, farm, legs), farm, legs), farm, legs)


def fit(farm: Farm, date: dt.date) -> FitAnswer:
    """Return whether everything due on the date can be done, with a checked round where it can.

    Jobs are shared out as for a plan. Where the round that shows it does not hold, nothing is proved and the fault is
    told.
    """
    wanted = with_needed_sites(_to_plan(farm, date))
    sums = _by_sums(wanted, date)
    if sums is not None:
        return sums
    farm, legs = farm_and_legs(wanted)
    answer = fit_shared(farm, legs, date)
    if answer.round is None:
        return answer
    round_ = what_holds(answer.round, cut_into(farm, cuts_in(farm, answer.round)), legs)
    if round_.all_done == answer.round.all_done and len(round_.itineraries) == len(answer.round.itineraries):
        return answer.model_copy(update={"round": round_})
    lines = ("Whether everything can be done is not known: the round that shows it did not pass the check.",)
    return FitAnswer(date=answer.date, fits=False, proof=FitProof.NOT_PROVED, lines=(*lines, *round_.faults))


def _by_sums(farm: Farm, date: dt.date) -> FitAnswer | None:
    """Return a no that sums prove of very many jobs before any drive between two sites is known, None elsewhere.

    Hives that are moved need such a drive.
    """
    if len(farm.jobs) <= MOST_SEARCHED or any(job.to for job in farm.jobs):
        return None
    known = farm_and_base_legs(farm)
    return None if known is None else too_full(build_days(*known, (date,)))


def try_order(farm: Farm, date: dt.date, crew: str | None, sites: Sequence[str]) -> OwnOrder:
    """Return what becomes of an order that a person gives: the checked round, or what it breaks.

    Jobs are shared out as for a plan. Where no crew is named, one that is out that day makes the order.
    """
    farm, legs = farm_and_legs(_to_plan(farm, date))
    tried = own_order_shared(farm, legs, date, crew, sites)
    if tried.round is None:
        return tried
    round_ = what_holds(tried.round, cut_into(farm, cuts_in(farm, tried.round)), legs)
    if len(round_.itineraries) == len(tried.round.itineraries):
        return replace(tried, round=round_)
    return OwnOrder(
        ("Whether this order keeps every rule is not known: it did not pass the check.", *round_.faults), None
    )


def replan(
    farm: Farm, date: dt.date, crew: str, moment: Moment, *, wish: Wish | None = None, keep_stopped: bool = False
) -> Round:
    """Return the checked round of the rest of a crew's day.

    The rest is that of `plan`. Raises AskedError and PlaceError.
    """
    written = _to_plan(farm, date)
    if moment.planned is not None:
        written = cut_into(written, cuts_in(written, moment.planned))
    farm, legs = farm_and_legs(written)
    who = crew_out(farm, crew, date, moment)
    known = {BASE: (farm.base.name, farm.base.place)} | {site.id: (site.name, site.place) for site in farm.sites}
    name, place = known.get(moment.here) or (moment.here, parse_place(moment.here))
    stands = Underway(name=name, place=place, at=moment.at)
    rest = rest_of_day(farm, who, stands, had_until(who, date, moment), aboard_now(farm, crew, moment))
    if moment.here in known:
        legs = from_here(legs, legs.index(moment.here))
    else:
        standing = Site(id=HERE, name=name, place=place, parking=place, hives=0)  # the vehicle stands there
        legs = farm_and_legs(written.model_copy(update={"sites": (*written.sites, standing)}))[1]
        legs = from_here(legs, len(legs.places) - 1)
    days = build_days(rest, legs, (date,))
    round_ = rest_round(days) or plan_days(days, wish=replace(wish or Wish(), surest=False))
    return _checked(rest, legs, told_in_the_field(days, round_), keep_stopped=keep_stopped)


def what_if(farm: Farm, date: dt.date, changes: Changes, wish: Wish | None = None) -> tuple[tuple[str, Round], ...]:
    """Return the checked round as the farm is, with each change alone, and with all of them, each under its words.

    The wish is that of each.
    """
    singles = list(changes.alone())
    asked = [("as it is", farm), *((words, changed(farm, change)) for words, change in singles)]
    if len(singles) > 1:
        asked.append(("all of these", changed(farm, changes)))
    return tuple((words, plan(one, date, wish=wish)) for words, one in asked)


def saved(farm: Farm, text: str) -> Round:
    """Return a saved round that still keeps every promise to the farm as it is now.

    Raises AskedError where the text is no round, or is one that no longer holds: the farm may have changed since.
    """
    try:
        round_ = Round.model_validate_json(text)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "the file"
        why = plain_text(f"{where}: {first['msg']}", TOLD_LONGEST)
        raise AskedError(f"this is not a saved round: {why}; plan it again") from error
    try:
        farm, legs = farm_and_legs(with_needed_sites(_to_plan(farm, round_.dates[-1])) if round_.dates else farm)
        farm = cut_into(farm, cuts_in(farm, round_))
        broken = broken_promises(round_, farm, legs)
    except OverflowError as error:
        raise AskedError("the saved round holds a time or a number that no day has; plan it again") from error
    if broken:
        told = [plain_text(sentence, TOLD_LONGEST) for sentence in broken[:MOST_TOLD]]
        more = [f"and {len(broken) - MOST_TOLD} more"] if len(broken) > MOST_TOLD else []
        raise AskedError(
            "\n".join(["the saved round does not hold for the farm as it is now; plan it again:", *told, *more])
        )
    if all(day.numbers is not None for day in round_.itineraries):
        return round_
    return what_holds(with_numbers(round_, farm, legs), farm, legs)  # an older program saved it without them


def light_rows(farm: Farm, date: dt.date) -> tuple[LightRow, ...]:
    """Return the sun and the working light of every site on one date, in words, local time."""
    from routing.share.terminal.light import LightRow  # noqa: PLC0415

    zone = ZoneInfo(farm.time_zone)

    def clock(moment: dt.datetime | None) -> str | None:
        return None if moment is None else f"{moment.astimezone(zone):%H:%M}"

    rows = []
    for site in farm.sites:
        sun = sun_day(site.place, date, zone)
        work = working_light(site.place, date, zone, LightNeed.DAYLIGHT, farm.rules)
        span = (
            None
            if work is None
            else int((work.closes.astimezone(dt.UTC) - work.opens.astimezone(dt.UTC)).total_seconds())
        )
        rows.append(
            LightRow(
                site=site.name,
                civil_dawn=clock(sun.civil_dawn),
                sunrise=clock(sun.sunrise),
                work_from=clock(work.opens) if work else None,
                work_until=clock(work.closes) if work else None,
                sunset=clock(sun.sunset),
                civil_dusk=clock(sun.civil_dusk),
                working_light=None if span is None else f"{span // 3600} h {span % 3600 // 60:02d}",
            )
        )
    return tuple(rows)


def ready_roads(farm: Farm, progress: Callable[[str, float], None]) -> None:
    """Build the farm's road map where it has one that is not built yet. Raises RoadError where it cannot be used."""
    prepare_roads(farm, progress)


def road_report(farm: Farm) -> tuple[str, ...]:
    """Return what the farm's road map covers and how the farm lies on it, a line each. Raises RoadError."""
    return farm_road_report(farm)
