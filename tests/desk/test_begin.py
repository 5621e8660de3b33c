"""From nothing to a farm that can be planned: the form, the road map, the sites, the jobs, and the example."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Route, expect

from routing.farm.folder import read_farm
from tests.conftest import HOLLIN_VALE
from tests.desk.conftest import MAP
from tests.desk.grid_bench import paste
from tests.desk.served import Served
from tests.share.axe import violations


def test_a_newcomer_comes_from_nothing_to_a_farm_that_can_be_planned(
    new_desk: Served, browser: Browser, tmp_path: Path
) -> None:
    with new_desk.opened(browser) as opened:
        page = opened.page("/start")
        assert violations(page) == {}
        page.get_by_label("What the farm is called").fill("Old Mill & Daughters")
        page.get_by_label("The county's road map").select_option(label=MAP)
        page.get_by_label("Where the vehicle is loaded").fill("Mill Drive")
        page.get_by_role("button", name="Make the farm").click()
        page.wait_for_url("**/begin", timeout=60_000)
        expect(page.locator("#step-map")).to_contain_text(MAP)
        expect(page.locator(".faults")).to_contain_text("has no site")
        assert violations(page) == {}
        page.get_by_role("link", name="To the base and the sites").click()
        page.get_by_role("button", name="Add a row").click()
        paste(
            page,
            "id\tname\tplace\thives\r\noak\tOak field\t52.2245, -2.9312\t8\r\nash\tAsh bank\t52.2190, -2.9255\t5\r\n",
        )
        expect(page.locator("#grid-state")).to_contain_text("All is written", timeout=20_000)
        expect(page.locator("#grid tbody tr")).to_have_count(2)
        page.goto(new_desk.desk.access.origin + "/begin")
        page.get_by_label("One job at every site").select_option(value="heft")
        page.get_by_label("Due by").fill("2026-12-20")
        page.get_by_role("button", name="Write these jobs").click()
        page.wait_for_url("**/jobs")
    farm = read_farm(tmp_path / "farms" / "old-mill-daughters")
    assert (farm.name, farm.road_map) == ("Old Mill & Daughters", farm.folder / MAP)
    assert [(job.site, job.kind, str(job.due_by)) for job in farm.jobs] == [
        ("oak", "heft", "2026-12-20"),
        ("ash", "heft", "2026-12-20"),
    ]
    assert (farm.folder / MAP).read_bytes() == (HOLLIN_VALE / MAP).read_bytes()


def test_the_example_is_one_press_away_and_a_second_one_stands_beside_it(
    new_desk: Served, browser: Browser, tmp_path: Path
) -> None:
    with new_desk.opened(browser, 360) as opened:
        page = opened.page("/start")
        page.get_by_role("button", name="Open an example farm").click()
        page.wait_for_url("**/begin")
        assert violations(page) == {}
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    new_desk.post("/begin/example")
    for name in ("example-farm", "example-farm-2"):
        assert read_farm(tmp_path / "farms" / name).sites == read_farm(HOLLIN_VALE).sites


@pytest.mark.parametrize("name", ["../../etc", "/etc/passwd", "..", "C:\\x", "a/../../b", "<b>x</b>", "con\u202e"])
def test_no_name_leads_out_of_the_folder_of_farms(new_desk: Served, tmp_path: Path, name: str) -> None:
    new_desk.post("/begin/new", {"name": name, "base": "52.1, -2.7"})
    made = sorted((tmp_path / "farms").iterdir()) if (tmp_path / "farms").exists() else []
    assert all(path.name.replace("-", "").isalnum() for path in made)
    assert {path.name for path in tmp_path.iterdir()} <= {"farms", "downloads", "farms.json"}


def test_a_road_map_is_taken_by_its_place_in_the_list_and_by_its_name_alone(new_desk: Served, tmp_path: Path) -> None:
    fields = {"name": "Farm", "base": "52.22, -2.92"}
    for wrong in ({"map": 0, "map_name": "/etc/passwd"}, {"map": 3, "map_name": MAP}, {"map": "../x", "map_name": MAP}):
        assert new_desk.post("/begin/new", {**fields, **wrong}).status == 422
    assert not (tmp_path / "farms").exists()
    assert new_desk.post("/begin/new", {**fields, "base": "nowhere at all"}).json["lines"] != []


def test_a_name_that_means_several_places_is_asked_about(new_desk: Served, tmp_path: Path) -> None:
    fields = {"name": "Farm", "base": "l", "map": 0, "map_name": MAP}
    choices = new_desk.post("/begin/new", fields).json["choices"]
    assert len(choices) > 1
    assert not (tmp_path / "farms").exists()
    assert new_desk.post("/begin/new", {**fields, "pick": 1}).json == {"go": "/begin"}
    place = (tmp_path / "farms" / "farm" / "farm.toml").read_text()
    assert choices[1].split(", ")[-2] in place


def test_a_form_sent_before_the_scripts_listen_waits_for_them(own_desk: Served, browser: Browser) -> None:
    """The script of the page comes late: what is pressed before is done then, once, and its fields are in no address."""
    folder = own_desk.desk.folder
    before = len(read_farm(folder).jobs)
    with own_desk.opened(browser) as opened:
        page = opened.context.new_page()
        late: list[Route] = []
        page.route("**/static/begin.js", lambda route: late.append(route))  # noqa: PLW0108 - a bound method is refused
        page.goto(own_desk.desk.access.origin + "/begin", wait_until="commit")
        page.get_by_label("One job at every site").select_option(value="fondant")
        page.get_by_role("button", name="Write these jobs").click(no_wait_after=True)
        page.wait_for_timeout(200)
        assert page.url.endswith("/begin")
        assert len(read_farm(folder).jobs) == before
        late[0].continue_()
        page.wait_for_url("**/jobs")
    farm = read_farm(folder)
    assert len(farm.jobs) == before + len(farm.sites)


@pytest.mark.parametrize("keys", [False, True], ids=["mouse", "keys"])
def test_a_button_pressed_before_the_scripts_listen_waits_for_them(
    own_desk: Served, browser: Browser, *, keys: bool
) -> None:
    """A button of no form, pressed twice since nothing seemed to come of it: it is done when the script is there, once."""
    farm = own_desk.desk.folder / "farm.toml"
    before = farm.read_text(encoding="utf-8")
    sent = {"what": "vehicle", "payload_kg": "900", "space_litres": "900"}
    for name in ("one", "two"):
        assert own_desk.post("/farm/add", {**sent, "id": name}).status == 200
    with own_desk.opened(browser) as opened:
        page = opened.context.new_page()
        late: list[Route] = []
        page.route("**/static/undo.js", lambda route: route.continue_() if late else late.append(route))
        page.goto(own_desk.desk.access.origin + "/farm", wait_until="commit")
        undo = page.get_by_role("button", name="Undo in the files")
        for _ in range(2):
            if keys:
                undo.press("Enter", no_wait_after=True)
            else:
                undo.click(no_wait_after=True)
        page.wait_for_timeout(200)
        assert 'id = "two"' in farm.read_text(encoding="utf-8")
        late[0].continue_()
        page.get_by_text("Undone: A vehicle more: two").first.wait_for()
        assert 'id = "one"' in farm.read_text(encoding="utf-8")
        assert own_desk.post("/undo", {"mark": own_desk.desk.edits.mark}).status == 200
    assert farm.read_text(encoding="utf-8") == before
