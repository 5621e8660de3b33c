"""Reading a farm folder: every fault at once, or a farm that is checked and complete."""

from __future__ import annotations

from pathlib import Path

from routing.errors import FarmError, Fault
from routing.farm import drives, jobs, settings, sites, year_rules
from routing.farm.faults import Faults, quoted
from routing.farm.models import Farm
from routing.farm.on_disk import is_folder
from routing.farm.plain_files import NOTHING, Instead
from routing.farm.sources import Sources
from routing.farm.ways import ways_of

FILES = (settings.FILE, "sites.csv", "jobs.csv", "drives.csv")
"""The files of a farm folder; the last two may be missing, and sheets of workbooks may stand for all but the first."""


def read_farm(folder: Path, instead: Instead = NOTHING) -> Farm:
    """Return the farm that the folder describes; its `warnings` hold what is probably not meant.

    What stands in `instead` is read in place of the file at that path, whether there is one or not.

    Raises FarmError with every fault and warning of all files, in the order of the tables and their lines.
    """
    if not is_folder(folder):
        shown = quoted(str(folder), longest=1000)
        raise FarmError(
            [Fault(shown, 0, "there is no such folder", "check its name, or let `outyard new` write one to start from")]
        )
    farm, problems, stopping = _read(folder, instead)
    if farm is None or stopping:
        raise FarmError(problems)
    return farm


def read_ground(folder: Path) -> Farm:
    """Return what a map of an unfinished farm needs: farm.toml, and the sites whose rows can be read; no job, no drive.

    Raises FarmError where farm.toml itself does not say enough.
    """
    farm, problems, _ = _read(folder, NOTHING)
    if farm is None:
        raise FarmError(problems)
    return farm.model_copy(update={"jobs": (), "known_drives": ()})


def _read(folder: Path, instead: Instead) -> tuple[Farm | None, tuple[Fault, ...], bool]:
    """Return the farm as far as it can be read, what is to be said of its files, and whether that stops a plan."""
    faults = Faults()
    found = settings.read_settings(folder, faults, instead)
    base = found.base
    sources = Sources(folder, faults, ways_of(found.time_zone), instead)
    all_sites = sites.read_sites(sources, base.place if base else None, found.reaches, faults)
    season = year_rules.with_low_sites(found.season, all_sites, faults)
    all_jobs = jobs.read_jobs(sources, all_sites, found.kind_names, found.job_kinds, faults)
    known_drives = drives.read_drives(sources, all_sites, faults)
    problems = faults.in_order((settings.FILE, *sources.files))
    stopping = faults.stopping > 0
    if base is None or found.rules is None or season is None:
        return None, problems, stopping
    farm = Farm(
        name=found.name,
        folder=folder,
        time_zone=found.time_zone,
        base=base,
        sites=all_sites.sites,
        jobs=all_jobs,
        job_kinds=found.job_kinds,
        materials=found.materials,
        vehicles=found.vehicles,
        crews=found.crews,
        rules=found.rules,
        stock=found.stock,
        known_drives=known_drives,
        season=season,
        tables=sources.names,
        warnings=problems,
        weather_url=found.weather_url,
        finder=found.finder,
        road_map=found.roads.path,
        road_credit=found.roads.credit,
    )
    return farm, problems, stopping
