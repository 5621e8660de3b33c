"""From nothing to a first round: a new farm, its road map, its sites and its first jobs; and the example farm.

No path comes from the browser. A new farm's folder is named after the farm, in one folder of this person's documents;
a road map is chosen from what stands in the farm's folder and in the folder of downloads, by its place in that list and
its name, and is copied into the farm's folder.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from starlette.responses import Response

from routing import stages
from routing.desk.files.changes import Change, NewRow
from routing.desk.files.saving import digest_of
from routing.desk.given import Given
from routing.desk.road_maps import SHOWN, map_chosen, maps_at
from routing.desk.serving import changed, page, shown
from routing.desk.state import Desk
from routing.errors import AskedError, FarmError, OutyardError, PlaceError
from routing.farm.basics import Rank
from routing.farm.faults import Faults, quoted
from routing.farm.models import Place
from routing.farm.places import parse_place
from routing.farm.settings import read_settings
from routing.farm.values import LONGEST_NAME
from routing.share.safety.safe import plain_name, plain_text

EXAMPLE = "Example farm"
MOST_CHOICES = 12


def new(desk: Desk, given: Given) -> Mapping[str, object]:
    """Make a new farm and open it; where a name in the road map means several places, ask which."""
    name, where = given.text("name", LONGEST_NAME), given.text("base", 200)
    if not name or not where:
        raise AskedError("give the farm a name, and say where its base is")
    road_map = map_chosen(desk, given)
    place, choices = _base(where, road_map, given.whole("pick", 0, MOST_CHOICES))
    if place is None:
        return {"choices": choices}
    folder = stages.begin.folder_for(name, desk.farms)
    stages.begin.new(folder, plain_text(name, LONGEST_NAME), place, plain_text(given.text("base_name", LONGEST_NAME)))
    desk.open(folder)
    if road_map is not None:
        _take_map(desk, road_map)
    return {"go": "/begin"}


def _base(where: str, road_map: Path | None, pick: int | None) -> tuple[Place | None, list[str]]:
    """Return the place that is meant, or the names that may be. Raises AskedError where nothing is."""
    try:
        return parse_place(where), []
    except PlaceError as error:
        if road_map is None:
            raise AskedError(f"the base: {error}; or choose a road map, to find it by a name") from None
    found = stages.begin.named_in(road_map, where)[:MOST_CHOICES]
    if not found:
        raise AskedError(f"nothing in the road map is called {quoted(where)}; write less of the name, or coordinates")
    if pick is not None and pick < len(found):
        return found[pick].place, []
    if len(found) == 1:
        return found[0].place, []
    return None, [
        f"{plain_name(one.name)} ({one.kind}), {one.place.latitude:.4f}, {one.place.longitude:.4f}" for one in found
    ]


def example(desk: Desk, _given: Given) -> Mapping[str, object]:
    """Put the example farm into a folder of its own and open it."""
    folder = stages.begin.folder_for(EXAMPLE, desk.farms)
    stages.begin.example(folder)
    desk.open(folder)
    return {"go": "/begin"}


def begin(desk: Desk, _given: Given) -> Response:
    """Show what a new farm has already, and what comes next."""
    settings = read_settings(desk.folder, Faults())
    kinds = sorted(((kind.id, plain_name(kind.name)) for kind in settings.job_kinds.values()), key=lambda one: one[1])
    values = {
        "folder": plain_text(str(desk.folder), SHOWN),
        "base": plain_name(settings.base.name) if settings.base else "",
        "sites": len(desk.edits.table("sites").rows),
        "jobs": len(desk.edits.table("jobs").rows),
        "road_map": plain_name(settings.roads.path.name) if settings.roads.path else "",
        "maps": [plain_name(path.name) for path in maps_at(desk, with_farm=True)],
        "downloads": plain_text(str(desk.downloads), SHOWN),
        "kinds": kinds,
        "ranks": [rank.value for rank in Rank],
        "trouble": _trouble(desk),
    }
    return page(desk, "begin.html", values, title="A first round", here="/begin")


def _trouble(desk: Desk) -> list[str]:
    try:
        desk.written_farm()
    except FarmError as error:
        return [plain_text(str(fault)) for fault in error.faults if not fault.warning]
    except OutyardError as error:
        return [plain_text(str(error))]
    return []


def road_map(desk: Desk, given: Given) -> Mapping[str, object]:
    """Take a road map: copy it into the farm's folder where it is not there, and name it in farm.toml."""
    chosen = map_chosen(desk, given, with_farm=True)
    if chosen is None:
        raise AskedError("choose a road map first")
    _take_map(desk, chosen)
    return {"go": "/begin"}


def _take_map(desk: Desk, chosen: Path) -> None:
    name = stages.begin.bring_map(chosen, desk.folder)
    base = digest_of(desk.edits.settings())
    outcome = desk.edits.change_settings(base, {("roads", "map"): name}, f"The road map: {plain_name(name)}")
    if not outcome.kept:
        raise AskedError("; ".join([outcome.said, *(str(fault) for fault in outcome.faults)]).strip("; "))


def first_jobs(desk: Desk, given: Given) -> Mapping[str, object]:
    """Write one job of a kind for every site."""
    kind, rank, due = given.text("kind", LONGEST_NAME), given.text("rank", 20), given.date("due_by")
    sites = [row.cells.get("id", "") for row in desk.edits.table("sites").rows]
    if not sites:
        raise AskedError("put sites into the table first")
    cells = {"kind": kind, "rank": rank, "due_by": due.isoformat() if due else ""}
    change = Change(added=tuple(NewRow({"site": site, **cells}) for site in sites if site))
    table = desk.edits.table("jobs")
    outcome = desk.edits.change_whole("jobs", table.digest, change, f"Jobs: {plain_name(kind)} at every site")
    if not outcome.kept:
        told = (plain_text(fault.what) for fault in outcome.refused[:MOST_CHOICES])
        raise AskedError("\n".join(told) or outcome.said)
    return {"go": "/jobs"}


ROUTES = [
    shown("/begin", begin),
    changed("/begin/new", new, without_farm=True),
    changed("/begin/example", example, without_farm=True),
    changed("/begin/map", road_map),
    changed("/begin/jobs", first_jobs),
]
