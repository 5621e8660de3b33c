"""The road map, built where it must be, with a bar that shows how far it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

from routing import stages

if TYPE_CHECKING:
    from routing.farm.models import Farm


def ready_roads(farm: Farm) -> Farm:
    """Return the farm, its road map built where it must be, with a progress bar on stderr. Raises RoadError."""
    if farm.road_map is None:
        return farm
    columns = (TextColumn("{task.description}", markup=False), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        bar = shown.add_task("Road map", total=1.0, visible=False)
        stages.plan.ready_roads(
            farm, lambda words, share: shown.update(bar, description=words, completed=share, visible=True)
        )
    return farm
