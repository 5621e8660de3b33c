"""A farm whose farm.toml says all that one may say, and how a value of it is changed as the Farm view does."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

from routing.desk.edits import Edits
from routing.desk.farm_field import FarmField, Way, said_in
from routing.desk.farm_fields import FarmFields, fields_of
from routing.desk.farm_values import Values, changed_values
from routing.desk.files.saving import digest_of
from routing.farm.folder import read_farm
from tests.conftest import HOLLIN_VALE

FILE = "farm.toml"
MORE = """
# All that the example does not say.
[weather]
url = "https://weather.example/v1"

[find]
url = "https://places.example"       # our own
terms = "one question a second"
seconds = 5

[material.brick]
name = "Brick"
unit = "pieces"   # fired
kg_each = { value = 2.5, source = "kitchen scales", confidence = "farm" }
litres_each = 1.3
sold_by = 40
pack = "pallet"

[material.patty]
unit = "kg"
kg_each = 1
litres_each = 0.8

[job_kind.paint]
minutes_a_visit = 5
minutes_a_hive = 4
set_down_minutes_a_hive = 1
min_temperature_c = 8                # the tin
temperature_source = "on the tin"
max_rain_mm_an_hour = 0.0
max_wind_kmh = 30
cautions = ["stings", "Paint: keep it off the bees, and shut the tin."]   # two
not_with = ["fondant"]
[job_kind.paint.takes]
brick = 1
[job_kind.paint.brings_back]
brick = 1

[season]
queens = "clipped"
first_frost = "10-20"
low_sites = ["alder-bank"]

[due.paint]
job = "paint"
every_days = 300
[due.paint-after]
job = "paint"
after = "storm"
earliest_days = 1
latest_days = 9
closed_by = ["heft"]
[due.grass-cutting]
wanted = true
[due.water]
wanted = false
[due.heft]
wanted = false

[feed]
starts = "08-02"
mean_c = [4.2, 4.5,  # winter
  6.5, 9.0, 12.0, 15.0, 17.0, 16.8, 14.3, 10.8, 7.2, 4.7]
mean_c_source = "the school's thermometer"
[feed.most_a_feed]
patty = 0.5

[rules.roads]
lane_kmh = 30
"""
BANDS = """drive_bands = [
    { straight_km = 0, detour_factor = 1.60, speed_kmh = 25 },  # lanes
    { straight_km = 5, detour_factor = 1.42, speed_kmh = 36 },

    # far
    { straight_km = 40, detour_factor = 1.30, speed_kmh = 54 },
] # end
drive_bands_source = "our own trips"
"""


def toml() -> str:
    return (HOLLIN_VALE / FILE).read_text(encoding="utf-8") + BANDS + MORE


def full_folder(tmp_path: Path) -> Path:
    """Copy the example with a farm.toml that says all that one may say."""
    made = shutil.copytree(HOLLIN_VALE, tmp_path / "farm", ignore=shutil.ignore_patterns("rounds"))
    sites = (made / "sites.csv").read_text(encoding="utf-8")
    low = sites.splitlines()[1].partition(",")[0]
    (made / FILE).write_text(toml().replace("alder-bank", low), encoding="utf-8")
    return made


def text_of(folder: Path) -> str:
    return (folder / FILE).read_text(encoding="utf-8")


def fields(folder: Path) -> FarmFields:
    return fields_of(read_farm(folder), said_in(text_of(folder)))


def field(folder: Path, *way: str | int) -> FarmField:
    return fields(folder).find(json.dumps(way))


def typed(one: FarmField) -> str:
    return json.dumps(one.table.rows) if one.table else one.value


def put(folder: Path, way: Way, text: str, source: str | None = None) -> str:
    """Change a value as the Farm view does, undo it and make it again; return farm.toml as it is then."""
    one, farm = field(folder, *way), read_farm(folder)
    source = one.own_source if source is None else source
    return written(folder, changed_values(farm, said_in(text_of(folder)), one, text, source))


def written(folder: Path, values: Values) -> str:
    edits, before = Edits(folder), (folder / FILE).read_bytes()
    outcome = edits.change_settings(digest_of(before), values)
    assert outcome.kept, outcome.why_not
    after = (folder / FILE).read_bytes()
    assert edits.undo().kept
    assert (folder / FILE).read_bytes() == before
    assert edits.redo().kept
    assert (folder / FILE).read_bytes() == after
    return after.decode()
