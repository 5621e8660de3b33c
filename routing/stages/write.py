"""A checked round written as files: where they may go, what is in them, and which of an earlier round go."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from routing.farm.models import Farm
from routing.output.ledger import digest
from routing.output.places import Ground, may_be_filled
from routing.output.whole import Filled, fill_folder
from routing.round import Round
from routing.share.pages.file_names import PLAIN, is_crew_page, is_locked_page
from routing.travel.background import Background
from routing.travel.farm import farm_background

if TYPE_CHECKING:
    from routing.share.safety.private import Shared


def background(farm: Farm, round_: Round) -> Background | None:
    """Return the roads around everything a round shows, None where the farm has no road map. Raises RoadError."""
    stops = [stop.site for itinerary in round_.itineraries for stop in itinerary.at_sites]
    sites = [farm.site(site).place for site in (*stops, *(left.site for left in round_.left_out))]
    return farm_background(farm, (farm.base.place, *sites))


def ground(farm: Farm, *, replace: bool = False, reads: tuple[Path, ...] = ()) -> Ground:
    """Return what no output may be written over; `reads` are files that are read for it."""
    return Ground(farm.folder, farm.road_map, reads, replace)


def may_be_planned_into(folder: Path, farm: Farm, dates: Sequence[dt.date], ground: Ground, option: str = "") -> None:
    """Raise AskedError where a round of these dates may not be written to a folder: ask before a long search."""
    from routing.share.wording.helper_sheet import slug  # noqa: PLC0415

    pages = [f"{date.isoformat()}-{slug(crew.id)}.html" for date in dates for crew in farm.crews]
    may_be_filled(folder, (*PLAIN, *pages), ground, option)


def write_round(
    round_: Round,
    folder: Path,
    ground: Ground,
    shared: Shared,
    roads: Background | None = None,
    *,
    private: bool = False,
    option: str = "",
) -> Filled:
    """Write a checked round as one whole: JSON, Markdown, a page for print, a map, and a page for each crew.

    The crews' pages show `shared`; `roads` are drawn under the maps where they are given. Pages of crews that no longer
    go out are removed, and locked pages of another round than this. What is `private` nobody else may read. Raises
    AskedError and WriteError.
    """
    from routing.share.exports.files import round_json  # noqa: PLC0415
    from routing.share.exports.markdown import round_markdown  # noqa: PLC0415
    from routing.share.map.map import round_map  # noqa: PLC0415
    from routing.share.pages.helper_page import helper_pages  # noqa: PLC0415
    from routing.share.pages.page import round_page  # noqa: PLC0415

    makers: tuple[Callable[[Round], str], ...] = (
        round_json,
        round_markdown,
        round_page,
        lambda shown: round_map(shown, roads),
    )
    pages = helper_pages(shared.round, shared.private, roads=shared.roads(roads))
    texts = {**{name: make(round_) for name, make in zip(PLAIN, makers, strict=True)}, **pages}
    same = digest(folder / PLAIN[0]) == hashlib.sha256(texts[PLAIN[0]].encode()).hexdigest()

    def stale(name: str) -> bool:
        return is_crew_page(name) or (is_locked_page(name) and not same)

    return fill_folder(texts, folder, ground, stale=stale, private=private, option=option)
