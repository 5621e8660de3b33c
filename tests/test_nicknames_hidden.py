"""A share under nicknames tells no name of a site in any form, and is the same whatever the sites are called."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from routing.farm.folder import read_farm
from routing.share.exports.csv_table import round_csv
from routing.share.exports.geojson import round_geojson
from routing.share.exports.gpx import round_gpx
from routing.share.exports.ical import round_calendar
from routing.share.pages.helper_page import helper_pages
from routing.share.safety.private import share
from routing.share.wording.visits import private_lines
from tests.hostile_names import POOL, Named, forms, hostile, plain, round_of, spoken, told, write


def files(named: Named, folder: Path) -> Mapping[str, str]:
    """Return every file of a share under nicknames, by its kind; the file names of the pages stand in them."""
    farm = read_farm(write(named, folder))
    shared = share(round_of(named), farm, with_private=True, nicknames=True)
    lines = private_lines(shared.private)
    pages = helper_pages(shared.round, shared.private)
    return {
        "pages": "\n".join((*pages, *pages.values())),
        "gpx": round_gpx(shared.round, lines),
        "ical": round_calendar(shared.round, lines),
        "geojson": round_geojson(shared.round, lines),
        "csv": round_csv(shared.round, lines),
        "json": shared.round.model_dump_json(),
    }


@pytest.fixture(scope="module")
def usual(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, str]:
    found = files(plain(), tmp_path_factory.mktemp("plain") / "farm")
    return {kind: spoken(text) for kind, text in found.items()}


@pytest.mark.parametrize("seed", range(6))
def test_no_form_of_a_name_is_told_beyond_what_every_farm_says(
    seed: int, usual: Mapping[str, str], tmp_path: Path
) -> None:
    """The same farm with names that are no words says each ordinary word as often: that much is the program's own."""
    named = hostile(seed)
    for kind, text in files(named, tmp_path / "farm").items():
        shown = spoken(text)
        for name in (*named.names, *named.ids):
            here, by_itself = list(told(name, shown)), list(told(name, usual[kind]))
            assert len(here) <= len(by_itself), (kind, name, here)


def test_the_search_finds_every_form_and_no_other_word() -> None:
    for name in POOL:
        for form in forms(name):
            assert list(told(name, spoken(f"past {form}, then"))), (name, form)
    assert not list(told("Oak", "cloak, Oakley, soaked"))
