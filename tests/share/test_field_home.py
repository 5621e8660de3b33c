"""A whole day on a farm of its own: planned by the command, lived through on the phone, taken home, undone, taken again."""

import datetime as dt
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import Page

from routing.farm.folder import read_farm
from routing.season.log import Log
from routing.share.pages.helper_page import helper_page
from routing.share.safety.private import share
from routing.stages import plan as plan_stage
from tests.season.test_commands import run
from tests.share.axe import violations
from tests.share.browser import CHROMIUM, Opener, no_sideways_scroll
from tests.share.test_field_browser import ask, at, order

pytestmark = pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer")

JUNE = dt.date(2026, 6, 10)
SECRETS = ("4471", "01234 567890", "the key hangs in the elder")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Home by 12:15 Damson, a want of 50 min, is left out; every site has a gate code, a phone and a private note."""
    farm = tmp_path / "farm"
    shutil.copytree("examples/four-sites", farm)
    toml = farm / "farm.toml"
    toml.write_text(toml.read_text().replace('home_by = "13:00"', 'home_by = "12:15"'))
    rows = (farm / "sites.csv").read_text().splitlines()
    more = [",".join(("", *SECRETS)) for _ in rows[1:]]
    more = [",gate_code,phone,private_notes", *more]
    (farm / "sites.csv").write_text("".join(f"{row}{extra}\n" for row, extra in zip(rows, more, strict=True)))
    return farm


def lived(opened: Opener, html: str) -> Page:
    """Cherry done at 08:50, then Damson, which was left out, at 3 of its 5 hives; the new order is kept."""
    page = at(opened, html, "08:50")
    page.locator("#stop-1 [data-job]").check()
    ask(page)
    assert "A Damson" in order(page)
    page.get_by_role("button", name="Keep this").click()
    page.locator("#stop-A [data-part]").fill("3")
    page.locator("#stop-A [data-note]").fill("=two queens <b>seen</b>")
    page.reload()  # nothing of it is lost
    assert page.locator("#stop-A [data-part]").input_value() == "3"
    assert "A Damson" in order(page, "#kept")
    return page


def test_a_report_with_near_work_goes_into_the_log_once_and_after_an_undo_again(
    opened: Opener, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("routing.cli.done.today", lambda _farm: JUNE)
    assert run("plan", folder, "--on", "2026-06-10").exit_code == 0
    page = lived(opened, (folder / "rounds/2026-06-10/2026-06-10-one.html").read_text())
    sent = folder / "sent.txt"
    sent.write_text(page.locator("#report").input_value())
    told = run("done", folder, sent, "--log")
    assert told.exit_code == 0, told.output
    words = " ".join(told.stdout.split())
    assert "1 job done, 1 in part" in words
    assert "3 of 5 hives done, at 08:50: Weekly inspection, 5 hives (jobs.csv:5)" in words
    assert "Written to the log: 2 new" in words
    assert "kept" in words.lower()
    entries = {entry.site: entry for entry in Log.record_of(folder).entries}
    assert (entries["C"].hives, entries["D"].hives) == (5, 3)
    assert "Written to the log: 0 new" in run("done", folder, sent, "--log").stdout
    assert run("log", "undo", folder).exit_code == 0  # the whole report
    assert Log.record_of(folder).entries == ()
    assert "Written to the log: 2 new" in run("done", folder, sent, "--log").stdout


def test_private_codes_stand_on_a_near_card_only_where_they_are_asked_for(opened: Opener, folder: Path) -> None:
    farm = read_farm(folder)
    planned = plan_stage.plan(farm, JUNE)
    plain, asked_for = share(planned, farm), share(planned, farm, with_private=True)
    html = helper_page(plain.round, 0, plain.private)
    assert [secret for secret in SECRETS if secret in html] == []
    page = opened(helper_page(asked_for.round, 0, asked_for.private), 360)
    card = page.locator("#stop-A").inner_text()
    assert [secret for secret in SECRETS if secret not in card] == []
    assert page.locator("#stop-A .private a").get_attribute("href") == "tel:01234567890"
    only_near = helper_page(asked_for.round, 0, {"D": asked_for.private["D"]})
    assert "It holds gate codes" in only_near


@pytest.mark.parametrize("width", [360, 1280])
def test_the_near_section_fits_a_phone_and_axe_finds_nothing(opened: Opener, folder: Path, width: int) -> None:
    farm = read_farm(folder)
    shown = share(plan_stage.plan(farm, JUNE), farm, with_private=True)
    page = at(opened, helper_page(shown.round, 0, shown.private), "08:50", width)
    page.locator("#near").scroll_into_view_if_needed()
    assert page.locator("#near .private").is_visible()
    assert page.locator("#near [data-part]").is_visible()
    assert violations(page) == {}
    assert no_sideways_scroll(page)
