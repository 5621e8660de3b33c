"""Planning at the desk as it is asked for: drafts, searches with their progress, pins, what-ifs, and what is refused."""

from __future__ import annotations

import datetime as dt
import json
from typing import Any

import pytest

from routing import stages
from routing.share.wording.differences import table_row
from tests.desk.served import Served
from tests.desk.two_crews import JUNE, ONE, TWO, WHERE, change, job, seen, written


@pytest.fixture
def desk(two_crews: Served) -> Served:
    return two_crews


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
