"""A farm is read here, and nowhere else: its files, its forecast, and what its record teaches."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from routing import season, travel
from routing.farm.folder import read_farm, read_ground
from routing.farm.kinds import load_catalogue
from routing.farm.models import Farm, JobKind
from routing.farm.naming import site_named
from routing.farm.ways import ways_of
from routing.season.log_file import has_log
from routing.season.record_tables import has_records, read_records
from routing.travel.leg_origin import LegOrigin
from routing.weather.forecasts import with_forecast

if TYPE_CHECKING:
    from routing.season.entries import SetAside
    from routing.season.learn import Lessons
    from routing.season.records import DriveRecord


def farm_in(folder: Path) -> Farm:
    """Return the farm of a folder with its forecast and the minutes that its record teaches.

    What is to be said of its files stands in `warnings`. Raises FarmError with every fault of the folder, and LogError.
    """
    return taught(as_written(folder))


def as_written(folder: Path) -> Farm:
    """Return the farm of a folder as its files say, with its forecast. Raises FarmError."""
    return with_forecast(read_farm(folder))


def ground(folder: Path) -> Farm:
    """Return what a map of a farm needs, whatever faults its tables have. Raises FarmError where farm.toml has one."""
    return read_ground(folder)


def site_in(farm: Farm, word: str) -> str:
    """Return the id of the site that a word means, by id or name. Raises AskedError where it is none's, or several'."""
    return site_named(farm, word)


def known_kinds() -> Mapping[str, JobKind]:
    """Return the job kinds that every farm begins with, by id."""
    return load_catalogue().job_kinds


def has_record(folder: Path) -> bool:
    """Return whether anything is written down in a farm folder that minutes are learned from."""
    return has_records(folder) or has_log(folder)


def taught(written: Farm) -> Farm:
    """Return a farm with the minutes, paces, drive factor and spreads that the record in its folder teaches.

    Raises FarmError for faults in visits.csv or driven.csv, and LogError.
    """
    if not has_record(written.folder):
        return written
    return season.learn.with_learned(written, lessons_of(written))


def lessons_of(written: Farm) -> Lessons:
    """Return what the record in the farm's folder teaches, against the farm as it is written.

    Raises FarmError for faults in visits.csv or driven.csv, and LogError.
    """
    visits, drives = read_records(written.folder, ways_of(written.time_zone))
    if has_log(written.folder):
        record = season.log.Log.record_of(written.folder)
        visits = (*visits, *season.past_visits.past_visits(written, record))
    return season.learn.learn(written, visits, _on_estimates(written, drives) if drives else ())


def set_aside(folder: Path) -> tuple[SetAside, ...]:
    """Return the rows of a folder's log that say nothing that can be, and so count for nothing. Raises LogError."""
    return season.log.Log.record_of(folder).set_aside if has_log(folder) else ()


def _on_estimates(farm: Farm, drives: Sequence[DriveRecord]) -> tuple[DriveRecord, ...]:
    """Return the drives that the farm only estimates, each against its estimate of today.

    What was planned at the time may rest on an older drive factor; learning from it again would turn in a circle.
    """
    legs = travel.farm.farm_and_legs(farm)[1]
    found = []
    for drive in drives:
        if drive.start not in legs.places or drive.end not in legs.places:
            found.append(drive)
            continue
        i, j = legs.index(drive.start), legs.index(drive.end)
        if legs.origins[i][j] is LegOrigin.ESTIMATE and legs.seconds[i, j] > 0:
            found.append(drive.model_copy(update={"planned_seconds": float(legs.seconds[i, j])}))
    return tuple(found)
