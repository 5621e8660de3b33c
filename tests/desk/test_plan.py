"""Planning at the desk: by pointer, by keys alone and by name; nothing that breaks a rule is called done or written.

The farm is the example of four sites, with a second crew. By its drives, 50 minutes a site: A B C D is
10 + 10 + 10 + 10 + 30 = 70 minutes of driving, home at 12:30; B A C D takes 25 + 10 + 25 + 10 + 30 = 100, home at
13:00, which is just in time; C B A D takes 20 + 10 + 10 + 35 + 30 = 105, home at 13:05; B C A D 125, home at 13:25.
"""

from __future__ import annotations

import datetime as dt
import json
import shutil
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from routing import stages
from routing.round import Round
from routing.share.wording.differences import table_row
from tests.conftest import HOLLIN_VALE
from tests.desk.served import Opened, Served, served
from tests.share.axe import violations

JUNE = dt.date(2026, 6, 10)
WHERE = {"on": JUNE.isoformat(), "days": 1}
SECOND = (
    '\n[[vehicle]]\nid = "truck"\nname = "Truck"\npayload_kg = 500\nspace_litres = 3000\n'
    '[[crew]]\nid = "two"\nname = "Two"\npeople = 1\nvehicle = "truck"\nearliest_start = "08:00"\nhome_by = "13:00"\n'
    "break_minutes = 0\n"
)
ONE, TWO = f"one|{JUNE.isoformat()}", f"two|{JUNE.isoformat()}"


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Return one desk for all of these tests, each of which begins from the round that is written."""
    keep = tmp_path_factory.mktemp("planned")
    folder = shutil.copytree(HOLLIN_VALE.parent / "four-sites", keep / "farm", ignore=shutil.ignore_patterns("rounds"))
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    crew, kinds = text.index("[[crew]]"), text.index("[job_kind")
    (folder / "farm.toml").write_text(text[:kinds] + SECOND.lstrip() + "\n" + text[kinds:], encoding="utf-8")
    assert crew < kinds
    sites = [line.split(",") for line in (folder / "sites.csv").read_text(encoding="utf-8").splitlines()]
    named = [sites[0], *([row[0], row[0], *row[2:]] for row in sites[1:])]
    (folder / "sites.csv").write_text("\n".join(",".join(row) for row in named) + "\n", encoding="utf-8")
    farm = stages.read.farm_in(folder)
    own = stages.ask.try_order(farm, JUNE, "one", ["A", "B", "C", "D"])
    assert own.round is not None
    stages.write.write_plan(farm, own.round)
    with served(folder, keep) as one:
        yield one


@pytest.fixture(autouse=True)
def from_what_is_written(desk: Served) -> None:
    assert desk.post("/plan/again", WHERE).status == 200


def written(desk: Served) -> Round:
    found = stages.written.written_plan(desk.desk.farm(), JUNE)
    assert found is not None
    return found


def panel(opened: Opened) -> Page:
    page = opened.page(f"/tomorrow?on={JUNE.isoformat()}")
    page.locator(".plan-trial").wait_for(state="attached")
    if page.locator("[data-open]").is_visible():
        page.locator("[data-open]").press("Enter")
    page.locator(".plan-trial").wait_for()
    return page


def names(page: Page, day: str = ONE) -> list[str]:
    rows = page.locator(f'.plan-day[data-day="{day}"] li[data-job]')
    return [row.get_attribute("data-name") or "" for row in rows.all()]


def said(page: Page, words: str) -> str:
    """Return what is read out, once these words are in it."""
    page.locator("#plan-live", has_text=words).wait_for()
    return page.locator("#plan-live").inner_text()


def focused(page: Page) -> str:
    """Return the name by which a screen reader knows what has the focus."""
    return str(page.evaluate("document.activeElement.getAttribute('aria-label') || ''"))


def focus(page: Page, name: str) -> None:
    """Go to the number of a stop by the Tab key alone."""
    for _ in range(60):
        page.keyboard.press("Tab")
        if focused(page).startswith(f"{name}: stop"):
            return
    raise AssertionError(f"the Tab key does not come to {name}")


def faults(page: Page) -> list[str]:
    """Return the rules of axe-core that the page itself breaks; the map in its frame is tested by itself."""
    return [f"{rule}: {elements[0]}" for rule, elements in violations(page).items()]


def change(desk: Served, **fields: object) -> Any:
    """Change the days as the page does; `seen` is taken from the panel."""
    return desk.post("/plan/change", {**WHERE, "seen": seen(desk), **fields})


def seen(desk: Served) -> int:
    text = desk.get(f"/plan/panel?on={JUNE.isoformat()}").text
    return int(text.partition('data-seen="')[2].partition('"')[0])


def job(site: str) -> str:
    return f"jobs.csv:{'ABCD'.index(site) + 2}"


def test_the_days_show_the_times_of_the_written_round_to_the_second(desk: Served, browser: Browser) -> None:
    with desk.opened(browser) as opened:
        page = panel(opened)
        (day,) = written(desk).itineraries
        rows = page.locator("li[data-job]").all()
        shown = [[row.get_attribute(f"data-{name}") for name in ("arrive", "start", "finish")] for row in rows]
        assert shown == [[each.isoformat() for each in (stop.arrive, stop.start, stop.finish)] for stop in day.stops]
        section = page.locator(f'.plan-day[data-day="{ONE}"]')
        assert section.get_attribute("data-leave") == day.leave.isoformat()
        assert section.get_attribute("data-home") == day.home.isoformat()
        assert names(page) == ["A", "B", "C", "D"]


def test_a_stop_is_moved_by_keys_alone_and_told_with_every_step(desk: Served, browser: Browser) -> None:
    """B A C D is home at 13:00, just in time; C B A D at 13:05, which is told at its place and never called done."""
    with desk.opened(browser) as opened:
        page = panel(opened)
        focus(page, "A")
        page.keyboard.press("Enter")
        assert "taken up" in said(page, "A taken up")
        page.keyboard.press("ArrowDown")
        assert said(page, "stop 2 of 4") == "A: stop 2 of 4, One."
        page.keyboard.press("Enter")
        assert said(page, "A moved") == "A moved. Every rule is kept; home 13:00."
        assert names(page) == ["B", "A", "C", "D"]
        assert "A: stop 2 of 4" in focused(page)
        for _ in range(2):
            page.keyboard.press("Tab")
        focus(page, "C")
        page.keyboard.press("Alt+ArrowUp")
        said(page, "Home at 13:25, 25 min after the crew must be (13:00).")
        page.keyboard.press("Alt+ArrowUp")
        said(page, "Home at 13:05, 5 min after the crew must be (13:00).")
        assert "before dark" not in page.locator(".plan-trial").inner_text()
        assert page.locator("[data-keep]").is_disabled()
        page.keyboard.press("Control+z")
        said(page, "Taken back")
        page.keyboard.press("Control+z")
        page.keyboard.press("Control+y")
        said(page, "Done again")
        page.keyboard.press("Enter")
        page.keyboard.press("ArrowUp")
        page.keyboard.press("Escape")
        said(page, "put back")


def test_a_stop_is_dragged_in_the_list_on_the_day_line_and_to_another_crew(desk: Served, browser: Browser) -> None:
    with desk.opened(browser) as opened:
        page = panel(opened)

        def drag(start: str, end: str, *, below: bool) -> None:
            one, other = page.locator(start).bounding_box(), page.locator(end).bounding_box()
            assert one is not None
            assert other is not None
            page.mouse.move(one["x"] + one["width"] / 2, one["y"] + one["height"] / 2)
            page.mouse.down()
            page.mouse.move(one["x"] + 20, one["y"] + 20)
            page.mouse.move(other["x"] + 15, other["y"] + other["height"] * (0.8 if below else 0.2), steps=4)
            page.mouse.up()

        page.locator('li[data-name="A"]').scroll_into_view_if_needed()
        drag('li[data-name="A"] .grip', 'li[data-name="B"]', below=True)
        said(page, "A moved. Every rule is kept; home 13:00.")
        assert names(page) == ["B", "A", "C", "D"]
        line = f'.plan-day[data-day="{ONE}"] .for-paper .day-line'
        page.locator(line).scroll_into_view_if_needed()
        drag(f'{line} g[data-stop="1"] .what', f'{line} g[data-stop="2"] .what', below=True)
        said(page, "B moved")
        assert names(page) == ["A", "B", "C", "D"]
        page.locator(f'.plan-day[data-day="{TWO}"]').scroll_into_view_if_needed()
        drag('li[data-name="D"] .grip', f'.plan-day[data-day="{TWO}"] .plan-idle', below=True)
        said(page, "D moved")
        assert (names(page), names(page, TWO)) == (["A", "B", "C"], ["D"])


def test_a_stop_is_left_out_added_sent_and_pinned_by_buttons_and_all_is_undone(desk: Served, browser: Browser) -> None:
    with desk.opened(browser) as opened:
        page = panel(opened)
        page.locator('li[data-name="D"] summary').click()
        page.locator('li[data-name="D"] button', has_text="Leave out").click()
        said(page, "D left out")
        assert names(page) == ["A", "B", "C"]
        page.get_by_role("button", name="Add D").click()
        said(page, "D added")
        assert names(page) == ["A", "B", "C", "D"]
        page.locator('li[data-name="C"] summary').click()
        page.locator('li[data-name="C"] button', has_text="Pin to its place").click()
        said(page, "C pinned")
        assert page.locator('li[data-name="C"] .plan-pin').inner_text() == "pinned to its place"
        page.locator('li[data-name="D"] summary').click()
        page.locator('li[data-name="D"] [data-do="send"]').click()
        said(page, "D sent")
        assert names(page, TWO) == ["D"]
        for _ in range(4):
            page.keyboard.press("Control+z")
        page.locator('[data-do="undo"][disabled]').wait_for()
        assert names(page) == ["A", "B", "C", "D"]


def test_a_second_window_never_changes_what_it_has_not_seen(desk: Served, browser: Browser) -> None:
    with desk.opened(browser) as opened:
        first, second = panel(opened), panel(opened)
        first.locator('li[data-name="A"] [data-step="1"]').click()
        said(first, "A moved")
        second.locator('li[data-name="D"] [data-step="-1"]').click()
        assert said(second, "in another window").startswith("These days had changed meanwhile")
        assert names(second) == ["B", "A", "C", "D"]
        second.locator('li[data-name="D"] [data-step="-1"]').click()
        said(second, "D moved")
        assert names(second) == ["B", "A", "D", "C"]


@pytest.mark.parametrize("width", [360, 1280])
def test_every_state_of_the_panel_is_free_of_faults_for_a_screen_reader(
    desk: Served, browser: Browser, width: int
) -> None:
    """Whole, broken with a stop's acts open, and with a chance."""
    with desk.opened(browser, width) as opened:
        page = panel(opened)
        assert faults(page) == []
        page.locator("[data-chance]").click()
        page.locator(".plan-chance h2").wait_for()
        assert faults(page) == []
        page.locator('li[data-name="C"] [data-step="-1"]').click()
        said(page, "C moved")
        page.locator('li[data-name="C"] [data-step="-1"]').click()
        said(page, "does not hold")
        page.locator('li[data-name="C"] summary').click()
        assert faults(page) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_what_breaks_is_kept_as_a_draft_and_never_written(desk: Served) -> None:
    before = (desk.desk.folder / "rounds" / JUNE.isoformat() / "round.json").read_bytes()
    change(desk, do="move", job=job("C"), to=ONE, place=0)
    assert "does not hold yet" in desk.get(f"/plan/panel?on={JUNE.isoformat()}").text
    assert desk.post("/plan/keep", {**WHERE, "seen": seen(desk)}).status == 422
    assert (desk.desk.folder / "rounds" / JUNE.isoformat() / "round.json").read_bytes() == before
    assert desk.post("/plan/chance", WHERE).status == 422


def test_an_order_that_holds_is_written_as_plan_writes_it(desk: Served) -> None:
    before = written(desk)
    change(desk, do="move", job=job("A"), to=ONE, place=1)
    answer = desk.post("/plan/keep", {**WHERE, "seen": seen(desk)})
    assert answer.json["go"] == f"/tomorrow?on={JUNE.isoformat()}"
    now = written(desk)
    assert [stop.site for stop in now.itineraries[0].stops] == ["B", "A", "C", "D"]
    assert now.given_order
    assert stages.plan.saved(desk.desk.farm(), now.model_dump_json()) == now
    assert {path.name for path in (desk.desk.folder / "rounds" / JUNE.isoformat()).iterdir()} >= {
        "map.html",
        "round.md",
    }
    stages.write.write_plan(desk.desk.farm(), before)


def test_what_the_desk_cannot_do_is_said_in_words_and_changes_nothing(desk: Served) -> None:
    now = seen(desk)
    for fields in (
        {"do": "juggle"},
        {"do": "move", "job": "jobs.csv:99", "to": ONE, "place": 0},
        {"do": "move", "job": job("A"), "to": "nobody|2026-06-10", "place": 0},
        {"do": "send", "job": job("A"), "to": "one|2026-06-11"},
        {"do": "add", "number": 5},
        {"do": "drop", "job": None},
    ):
        assert change(desk, **fields).status == 422
    assert change(desk, do="move", job=job("A"), to=ONE, place=0).json["said"] == "Nothing changed."
    assert seen(desk) == now
    for fields in (
        {"for": "around"},
        {"for": "what if"},
        {"for": "dance"},
        {"for": "remedy", "number": 7, "remedy": 0},
    ):
        assert desk.post("/plan/search", {**WHERE, **fields}).status == 422
    assert desk.post("/plan/take", {**WHERE, "row": 3}).status == 422
    assert desk.post("/plan/stop", WHERE).status == 200


def waited(desk: Served) -> list[dict[str, Any]]:
    """Return all that is told of the search until it is over."""
    text = desk.get("/plan/progress").text
    found = [json.loads(line.removeprefix("data: ")) for line in text.splitlines() if line.startswith("data: {")]
    assert text.rstrip().endswith("event: over\ndata: {}")
    return found


def test_a_search_tells_of_its_progress_and_its_round_is_a_state_like_any_other(desk: Served) -> None:
    assert "Stop and keep the best" in desk.post("/plan/search", {**WHERE, "for": "plan", "seconds": 60}).json["html"]
    assert desk.post("/plan/search", {**WHERE, "for": "plan"}).status == 422
    told = waited(desk)
    assert told[0]["limit"] == "60"
    text = desk.get(f"/plan/panel?on={JUNE.isoformat()}").text
    assert "All 3 musts before dark; the one want." in text
    assert "Undo: <bdi>Plan</bdi>" in text


def test_a_plan_around_pins_keeps_them_and_a_what_if_tells_what_the_command_tells(desk: Served) -> None:
    """D stays with Two, who does the rest as well: 270 minutes away in all, and 200 + 110 with One for A B C."""
    change(desk, do="send", job=job("D"), to=TWO)
    change(desk, do="pin", job=job("D"), pin="day")
    desk.post("/plan/search", {**WHERE, "for": "around"})
    waited(desk)
    planner = desk.desk.planners[desk.desk.mark]
    trial = planner.trial(desk.desk.farm(), (JUNE,))
    assert trial is not None
    assert {day.crew: day.away_seconds // 60 for day in trial.shown().round.itineraries} == {"two": 270}
    assert trial.shown().holds
    desk.post("/plan/search", {**WHERE, "for": "what if", "home_by": "11:30", "people": 1})
    waited(desk)
    desk.get(f"/plan/panel?on={JUNE.isoformat()}")
    offer = planner.offers[(JUNE,)]
    asked = stages.ask.Changes(home_by=dt.time(11, 30), people=1)
    rows = stages.ask.what_if(desk.desk.farm(), JUNE, asked)
    assert [table_row(one.words, one.round) for one in offer.rows] == [table_row(*row) for row in rows]
    assert desk.post("/plan/take", {**WHERE, "row": 1}).status == 200
    assert "As if: <bdi>home by 11:30</bdi>" in desk.get(f"/plan/panel?on={JUNE.isoformat()}").text
    assert desk.post("/plan/keep", {**WHERE, "seen": seen(desk)}).status == 422


def test_the_map_follows_the_order_that_is_looked_at(desk: Served) -> None:
    change(desk, do="drop", job=job("D"))
    text = desk.get(f"/plan/map?on={JUNE.isoformat()}").text
    assert "leaflet" in text.lower()


def test_the_page_says_at_once_that_planning_is_being_got_ready_and_what_to_do_where_it_is_not(
    desk: Served, browser: Browser
) -> None:
    """The first words are in the page as it is sent; where the desk answers no more, they say what to do."""
    assert "Getting ready to plan" in desk.get(f"/tomorrow?on={JUNE.isoformat()}").text
    with desk.opened(browser) as opened:
        page = panel(opened)
        assert not page.locator("#plan-waiting").count()
        page.route("**/plan/panel*", lambda route: route.abort())
        page.reload()
        page.locator("#plan-waiting", has_text="Load this page again").wait_for()
        page.unroute("**/plan/panel*")
        opened.troubles[:] = [one for one in opened.troubles if "ERR_FAILED" not in one]
