"""The target `farm`: the four files of a farm folder, read, and asked what is due and what light there is."""

from __future__ import annotations

import datetime as dt

from routing.errors import OutyardError
from routing.farm.folder import FILES, read_farm
from routing.farm.models import Farm
from routing.season.due import due_items
from routing.share.terminal.light import light_rows
from routing.stages import due as due_stage
from tests.fuzz import small_farm
from tests.fuzz.inputs import Files
from tests.fuzz.mutate import table_changed, toml_changed
from tests.fuzz.target import Target, scratch, written

READ_BY = (
    "settings",
    "sites",
    "jobs",
    "drives",
    "crews",
    "rules",
    "kinds",
    "due_rules",
    "feed_rules",
    "swarm",
    "values",
)


def farm_target() -> Target:
    """Return the target."""
    folder = scratch()

    def run(files: Files) -> None:
        farm = read_farm(written(files, folder))
        _ask(farm)

    return Target(
        "farm",
        {name: toml_changed if name.endswith(".toml") else table_changed for name in FILES},
        (small_farm.example(), small_farm.starter(), small_farm.ruled(), small_farm.without_map()),
        run,
        tuple(f"farm/{name}.py" for name in READ_BY),
    )


def _ask(farm: Farm) -> None:
    """Ask of a farm what every plan begins with."""
    on = dt.date.fromisoformat(small_farm.DAY)
    try:
        due_stage.with_due(farm, on)
    except OutyardError:
        return
    due_items(due_stage.asked(farm, on))
    for site in farm.sites[:2]:
        light_rows(farm.model_copy(update={"sites": (site,)}), on)
