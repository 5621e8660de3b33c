"""A report from a page with nicknames is one of the farm's own sites, jobs, kinds and crews again."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.share.pages.helper_page import helper_page
from routing.share.report.done import Done, read_done
from routing.share.report.named_again import named_again
from routing.share.safety.private import share
from tests.hostile_names import Named, hostile, round_of, spoken, told, write
from tests.share.browser import CHROMIUM, Opener

TIME = "2024-12-18T11:00:00Z"


def report_of(page: str) -> str:
    """Return the report that a page makes with every job ticked."""
    found = re.search(r'id="given">(.*?)</script>', page)
    assert found
    given: dict[str, Any] = json.loads(found[1])
    lines = [
        "what-i-did: 1",
        f"round: {given['round']}",
        f"crew: {given['crew']}",
        f"date: {given['date']}",
        f"sent: {TIME}",
    ]
    count = 0
    for stop in given["stops"]:
        lines += ["", f"site: {stop['site']}", f"# {stop['name']}"]
        for job in stop["jobs"]:
            lines += [f"done: {TIME} {job['id']}", f"kind: {job['kind']}", f"hives: {job['hives']} of {job['hives']}"]
            count += 1
    return "\n".join([*lines, f"end: {count} done, 0 left", ""])


def both(named: Named, farm: Farm) -> tuple[Done, Done, str]:
    """Return the report of the first crew's page without nicknames and of that with them, and the latter's text."""
    true = round_of(named)
    text = report_of(helper_page(share(true, farm, nicknames=True).round, 0))
    return read_done(report_of(helper_page(true, 0))), read_done(text), text


@pytest.mark.parametrize("seed", range(20, 26))
def test_names_go_back_and_the_text_itself_tells_none(seed: int, tmp_path: Path) -> None:
    named = hostile(seed)
    farm = read_farm(write(named, tmp_path / "farm"))
    plain, hidden, text = both(named, farm)
    assert hidden != plain
    assert named_again(farm, hidden) == plain
    for name in (*named.names, *named.ids):
        assert not list(told(name, spoken(text))), name


def test_a_report_without_nicknames_stays_as_it_is(tmp_path: Path) -> None:
    named = hostile(30)
    farm = read_farm(write(named, tmp_path / "farm"))
    plain, _, _ = both(named, farm)
    assert named_again(farm, plain) == plain


def test_a_site_added_since_moves_the_letters_on_and_not_the_work(tmp_path: Path) -> None:
    named = hostile(31)
    folder = write(named, tmp_path / "farm")
    plain, hidden, _ = both(named, read_farm(folder))
    with (folder / "sites.csv").open("a", encoding="utf-8") as sites:
        sites.write('"0-first","First of all","52.4, -2.4","3","",""\n')
    farm = read_farm(folder)
    assert min(site.id for site in farm.sites) == "0-first"
    assert named_again(farm, hidden) == plain


def test_a_site_that_was_moved_since_is_not_guessed_at(tmp_path: Path) -> None:
    """Its jobs keep the nickname's id, which the farm does not know, so nothing is logged elsewhere."""
    named = hostile(32)
    folder = write(named, tmp_path / "farm")
    _, hidden, _ = both(named, read_farm(folder))
    sites = (folder / "sites.csv").read_text(encoding="utf-8")
    (folder / "sites.csv").write_text(sites.replace("52.71, -2.93", "52.72, -2.93"), encoding="utf-8")  # the first stop
    back = named_again(read_farm(folder), hidden)
    assert back.stops[0].site == hidden.stops[0].site
    assert all(stop.site in named.ids for stop in back.stops[1:])


@pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer")
def test_the_report_that_a_phone_makes_goes_back_and_the_phone_keeps_no_name(opened: Opener, tmp_path: Path) -> None:
    named = hostile(33)
    farm = read_farm(write(named, tmp_path / "farm"))
    true = round_of(named)
    page = opened(helper_page(share(true, farm, nicknames=True).round, 0), 360)
    page.locator("#stop-A1 [data-job]").first.check()
    text = page.locator("#report").input_value()
    kept = page.evaluate("JSON.stringify({...localStorage})")
    for name in (*named.names, *named.ids):
        assert not list(told(name, spoken(text)))
        assert not list(told(name, spoken(kept)))
    back = named_again(farm, read_done(text))
    stop = true.itineraries[0].stops[0]
    assert [(site, job.id, job.kind) for site, job in back.done] == [(stop.site, stop.jobs[0].id, stop.jobs[0].kind)]
    assert back.crew == true.itineraries[0].crew
