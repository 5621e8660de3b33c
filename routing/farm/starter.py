"""A commented example folder to begin a farm from. All people and places in it are invented."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

from routing.errors import WriteError
from routing.farm.faults import quoted
from routing.farm.kinds import load_catalogue
from routing.farm.sources import BOOKS, FARM_BOOK
from routing.farm.tables_out import FarmRows, farm_workbook, rows_of_csv

FARM_TOML = """\
# Your farm. Lines that begin with # are notes; times are local, weights kilograms, space litres.
name = "Example Farm"
time_zone = "Europe/London"  # leave it out and it is found from the base

# Where the vehicle is loaded and the day starts and ends. A place may be decimal degrees (52.1, -2.7), degrees and
# minutes (52°06'30"N 2°42'00"W), a British grid reference (SO 512 402) or an Irish one (O 159 346).
[base]
name = "The yard"
place = "SO 512 402"
loading_minutes = 20

# payload_kg is what may be loaded with the crew and the usual tools already in it: weigh it, never assume it.
# reaches lists the special needs of sites (the column vehicle_needed) that it meets.
[[vehicle]]
id = "van"
name = "Van"
payload_kg = 450
space_litres = 2500
reaches = []

[[vehicle]]
id = "pick-up"
name = "Pick-up"
payload_kg = 700
space_litres = 1400
reaches = ["4x4"]

# One crew travels together in one vehicle. Loading may begin at earliest_start; the vehicle is back by home_by.
[[crew]]
id = "ash"
name = "Ash"
people = 1
vehicle = "pick-up"
earliest_start = "07:00"
home_by = "18:00"
break_minutes = 20
break_after_hours = 6
trips_a_day = 2  # how often it may leave base: where one load is not enough it comes back to load again
days_off = ["Sun", "2026-12-25"]

# What is in store at base, in the unit of each material. What is not named is not short.
[stock]
fondant = 150  # kilograms

# Your own numbers go over the built-in ones, which are only a start. Minutes a hive are one person's.
[job_kind.fondant]
minutes_a_hive = 2.5
takes = { fondant = 2.5 }  # kilograms a hive

# A job kind of your own.
[job_kind.fence-repair]
name = "Mend the stock fence"
minutes_a_visit = 30
minutes_a_hive = 0
light = "daylight"
cautions = ["alone"]

[rules]
units = "miles"
emergency_number = "112"

# The other files of this folder, which any spreadsheet can edit (columns in any order; save as CSV UTF-8):
#   sites.csv   id, hives and a place are needed. hours: 08:00-17:00. closed: Sun 2026-12-24. last_of_day: yes for a
#               suspect site, which no other may follow. gate_code, phone and private_notes are kept off shared pages.
#               parking: where the vehicle is left, written as a place, where that is not beside the hives.
#   jobs.csv    site and kind are needed. hives: all of the site where blank. not_before and due_by: 2026-12-31.
#               rank: must, want or passing (want where blank). to: the site that hives are moved to (kind move-hives).
#               promised: the one day agreed with the landowner, in place of not_before and due_by.
#   drives.csv  minutes between two sites, or base and a site, that you know; it may be left out.
"""

SITES_CSV = """\
id,name,place,hives,nucs,hours,closed,vehicle_needed,walking_minutes,last_of_day,notes,gate_code,phone,private_notes
orchard,Old orchard,SO 498 431,12,2,,,,2,no,Park by the barn,,,
quarry,Quarry edge,SO 561 387,8,0,08:00-16:00,Sun,4x4,5,no,"Steep track, slow in the wet",0000,,Ask at the office first
meadow,Water meadow,"52.0475, -2.8120",10,0,,,,3,no,Floods after heavy rain,,,
wood,Beech wood,"52°03'18""N 2°36'30""W",6,1,,,,8,no,,,,
lane,Lane end,SO 470 365,5,0,,,,0,yes,Suspect brood seen in October: last of the day,,,
"""

JOBS_CSV = """\
site,kind,hives,not_before,due_by,rank,note
orchard,heft,,,2026-12-12,must,
orchard,fondant,4,,2026-12-12,must,The four light ones by the hedge
quarry,storm-check,,2026-11-20,2026-12-05,must,
meadow,heft,,,2026-12-12,want,
meadow,mouse-guards,,,2026-11-30,want,
wood,woodpecker-netting,,2026-12-01,2027-01-10,want,
wood,oxalic,,2026-12-10,2027-01-15,want,Only where there is no brood
lane,heft,,,,passing,
orchard,fence-repair,1,,,passing,
"""

DRIVES_CSV = """\
from,to,minutes
base,orchard,9
orchard,meadow,14
"""

OTHER_FILES = "# The other files of this folder"
BOOK_NOTE = """\
# The tables of this farm are the sheets Sites, Jobs and Drives of farm.xlsx. The note at each column's header says what
# it takes. Columns may stand in any order; gate_code, phone and private_notes are kept off shared pages.
"""

STARTER = {"farm.toml": FARM_TOML, "sites.csv": SITES_CSV, "jobs.csv": JOBS_CSV, "drives.csv": DRIVES_CSV}


def starter_book() -> dict[str, bytes]:
    """Return the files of the example farm with its tables in a workbook."""
    rows = FarmRows(rows_of_csv(SITES_CSV), rows_of_csv(JOBS_CSV), rows_of_csv(DRIVES_CSV))
    settings = FARM_TOML.partition(OTHER_FILES)[0] + BOOK_NOTE
    kinds = (*load_catalogue().job_kinds, "fence-repair")
    return {"farm.toml": settings.encode(), FARM_BOOK: farm_workbook(rows, kinds)}


def write_new_farm(folder: Path, files: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Write the files of a new farm into a folder and return them; the folder is made where it is missing.

    Nothing is ever overwritten, no table is written beside one of the same name, and either all files appear or none.
    Raises WriteError.
    """
    standing = [name for name in (*STARTER, *BOOKS) if os.path.lexists(folder / name)]
    if standing:
        raise WriteError(
            f"{quoted(str(folder))} already has {', '.join(standing)}: choose another folder; nothing was written"
        )
    written: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".starter-", dir=folder) as nearby:
            for name, content in files.items():
                ready = Path(nearby) / name
                ready.write_bytes(content)
                _place(ready, folder / name)
                written.append(folder / name)
    except OSError as error:
        for path in written:
            path.unlink(missing_ok=True)
        raise WriteError(
            f"{quoted(str(folder))}: the starter files could not be written: {error.strerror or error}"
        ) from error
    return tuple(written)


def _place(ready: Path, final: Path) -> None:
    """Give a finished file its name, never over another. Raises OSError, FileExistsError where the name is taken."""
    try:
        os.link(ready, final)
    except FileExistsError:
        raise
    except OSError:  # a file system without links
        with final.open("xb") as target, ready.open("rb") as source:
            shutil.copyfileobj(source, target)
