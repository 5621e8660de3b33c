"""A round is given away as what is ticked, which is told before; nothing private is in it unasked."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from routing.share.wording import sends
from tests.desk.conftest import make_private
from tests.desk.served import Served
from tests.share.axe import violations

DATE = "2026-12-10"
STRONG = "harebell cobble lantern ninefold"


def test_what_will_be_in_it_is_said_before_it_is_made(own_desk: Served, browser: Browser) -> None:
    with own_desk.opened(browser) as opened:
        page = opened.page(f"/send?on={DATE}")
        make = page.get_by_role("button", name="Make this")
        assert make.is_disabled()
        page.get_by_label("Places and ways").check()
        page.get_by_label("Site A, Site B").check()
        page.locator("#will li", has_text="Site A, Site B and so on").wait_for()
        assert page.locator("#will li").all_inner_texts() == [
            f"{sends.KINDS['gpx'].name}: {sends.KINDS['gpx'].holds}.",
            sends.NO_PRIVATE,
            sends.NICKNAMES,
            sends.PLACES,
        ]
        assert not (own_desk.desk.folder / "sent").exists()
        assert violations(page) == {}
        make.click()
        page.get_by_text("Written: ").wait_for()
        with page.expect_download() as kept:
            page.get_by_role("link", name=f"round-{DATE}.gpx").click()
        text = Path(kept.value.path()).read_text(encoding="utf-8")
    assert "<gpx" in text
    assert "Ridge Barn" not in text
    assert [path.name for path in (own_desk.desk.folder / "sent" / DATE).iterdir()] == [f"round-{DATE}.gpx"]


@pytest.mark.usefixtures("few_key_rounds")
def test_pages_are_locked_with_a_passphrase_that_holds(own_desk: Served) -> None:
    wanted = {"on": DATE, "lock": True, "only_locked": True}
    for weak in ("", "bees", "Ridge Barn", 5):
        assert own_desk.post("/send/make", wanted | {"passphrase": weak}).status == 422, weak
    made = own_desk.post("/send/make", wanted | {"passphrase": STRONG})
    assert made.status == 200, made.text
    names = {path.name for path in (own_desk.desk.folder / "rounds" / DATE).iterdir()}
    assert "locked-1.html" in names
    assert "map.html" not in names
    locked = own_desk.get(f"/send/file?on={DATE}&name=locked-1.html")
    assert locked.headers["content-disposition"] == 'attachment; filename="locked-1.html"'
    assert "Ridge Barn" not in locked.text


def test_nothing_ticked_and_no_round_make_nothing(own_desk: Served) -> None:
    assert own_desk.post("/send/look", {"on": DATE}).json == {"will": []}
    assert own_desk.post("/send/make", {"on": DATE}).status == 422
    assert own_desk.post("/send/make", {"on": "2026-01-01", "gpx": True}).status == 422
    assert not (own_desk.desk.folder / "sent").exists()


def test_only_files_that_were_made_are_given(own_desk: Served) -> None:
    (own_desk.desk.folder / "rounds" / DATE / "mine.txt").write_text("mine", encoding="utf-8")
    for name in ("mine.txt", "round.json", "../../farm.toml", "/etc/passwd", "..", "", "%00"):
        assert own_desk.get(f"/send/file?on={DATE}&name={name}").status in {404, 422}, name
    paper = own_desk.get(f"/send/file?on={DATE}&name=round.html")
    assert (paper.status, paper.headers["content-type"]) == (200, "application/octet-stream")


def test_private_things_are_in_the_crews_pages_only_when_ticked(own_farm: Path, own_desk: Served) -> None:
    make_private(own_farm, gate_code="C4711X")
    page = own_farm / "rounds" / DATE / f"{DATE}-rowan.html"
    for private in (True, False):
        wanted = {"on": DATE, "pages": True, "private": private}
        will = own_desk.post("/send/look", wanted).json["will"]
        assert (sends.NO_PRIVATE in will) != private
        assert any("of 9 sites are in them" in line for line in will) == private
        made = own_desk.post("/send/make", wanted)
        assert made.status == 200, made.text
        assert ("C4711X" in page.read_text(encoding="utf-8")) == private
