"""A checked round written as files: where they may go, what is in them, and which of an earlier round go."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from routing.errors import WriteError
from routing.farm.models import Farm
from routing.output.ledger import digest
from routing.output.places import Ground, may_be_filled
from routing.output.whole import Filled, fill_folder
from routing.round import Round
from routing.share.exports.files import round_json
from routing.share.exports.markdown import round_markdown
from routing.share.map.map import round_map
from routing.share.pages.file_names import PLAIN, is_crew_page, is_locked_page, slug
from routing.share.pages.helper_page import helper_pages
from routing.share.pages.page import round_page
from routing.share.safety.private import Shared, share
from routing.stages.kept import note
from routing.stages.reports import remember_round
from routing.stages.written import folder_of
from routing.travel.background import Background
from routing.travel.farm import farm_background


@dataclass(frozen=True)
class Written:
    """What became of a round that was written."""

    filled: Filled
    forgotten: str
    """Why the farm does not remember that this round went out; empty where it does."""


def background(farm: Farm, round_: Round) -> Background | None:
    """Return the roads around everything a round shows, None where the farm has no road map. Raises RoadError.

    A site of a written round that the farm has no more is not looked at.
    """
    stops = [stop.site for itinerary in round_.itineraries for stop in itinerary.at_sites]
    shown = {*stops, *(left.site for left in round_.left_out)}
    return farm_background(farm, (farm.base.place, *(site.place for site in farm.sites if site.id in shown)))


def map_of(farm: Farm, round_: Round) -> str:
    """Return the map page of a round, over the farm's roads where it has some. Raises RoadError."""
    return round_map(round_, background(farm, round_))


def ground(farm: Farm, *, replace: bool = False, reads: tuple[Path, ...] = ()) -> Ground:
    """Return what no output may be written over; `reads` are files that are read for it."""
    return Ground(farm.folder, farm.road_map, reads, replace)


def may_be_planned_into(folder: Path, farm: Farm, dates: Sequence[dt.date], ground: Ground, option: str = "") -> None:
    """Raise AskedError where a round of these dates may not be written to a folder: ask before a long search."""
    pages = [f"{date.isoformat()}-{slug(crew.id)}.html" for date in dates for crew in farm.crews]
    may_be_filled(folder, (*PLAIN, *pages), ground, option)


def write_plan(
    farm: Farm,
    round_: Round,
    folder: Path | None = None,
    *,
    replace: bool = False,
    with_private: bool = False,
    nicknames: bool = False,
    option: str = "",
    key: str = "",
    timed: bool = False,
) -> Written:
    """Write a checked round of a farm as `write_round` does, and write down that it goes out.

    Where `key` says what it was planned from, that is written down too (`kept.note`), with whether the clock ended it.

    Where no folder is given it goes to `folder_of`; `option` asked for the place. Files in the way that this program
    did not write, or that were changed since, go only where `replace`.

    The crews' pages have gate codes, phones and private notes where `with_private`, and no site's name where
    `nicknames`. Raises AskedError, WriteError and RoadError.
    """
    shared = share(round_, farm, with_private=with_private, nicknames=nicknames)
    roads, forgotten = background(farm, round_), ""
    try:
        remember_round(farm, round_, shared.round)
    except WriteError as error:
        forgotten = str(error)
    place, where = folder or folder_of(farm, round_.dates), ground(farm, replace=replace)
    filled = write_round(round_, place, where, shared, roads, private=with_private, option=option)
    if key:
        note(farm.folder, key, place / PLAIN[0], timed=timed)
    return Written(filled, forgotten)


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
