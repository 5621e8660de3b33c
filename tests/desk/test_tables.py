"""What the grids ask and send, by plain requests: bad ones are one line each, and nothing is written."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from routing.farm.folder import read_farm
from routing.farm.location import kilometres
from routing.farm.models import Place
from routing.farm.places import parse_place
from routing.farm.starter import STARTER, write_new_farm
from tests.desk.served import Served, served


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with served(None, tmp_path_factory.mktemp("desk")) as found:
        yield found


@pytest.fixture
def farm(desk: Served, tmp_path: Path) -> Path:
    write_new_farm(tmp_path / "farm", {name: text.encode() for name, text in STARTER.items()})
    desk.desk.open(tmp_path / "farm")
    return tmp_path / "farm"


def test_what_is_no_change_is_told_in_one_line_and_nothing_is_written(desk: Served, farm: Path) -> None:
    before = {path.name: path.read_bytes() for path in farm.iterdir()}
    base = desk.get("/tables/sites").json["digest"]
    sent = {"name": "sites", "base": base}
    for wrong in (
        *(
            {**sent, "cells": cells}
            for cells in ("x", [[2]], [[2, "hives", 3]], [["2", "hives", "3"]], [[True, "id", ""]])
        ),
        *({**sent, "cells": [[2, column, "x"]]} for column in ("__proto__", "colour", 3, "kind")),
        {**sent, "cells": [[2, "notes", "x" * 6000]]},
        {**sent, "cells": [[2, "notes", "\0"]]},
        {**sent, "cells": [[2, "notes", "\ud800"]]},
        *({**sent, "added": added} for added in ("x", [1], [{"cells": {"id": 1}}], [{"cells": {}, "after": -1}])),
        {**sent, "dropped": [None]},
        {"name": "../sites", "base": base},
        {"name": "drives", "base": base},
        {**sent, "base": "0" * 64, "cells": [[2, "hives", "3"]]},
        {**sent, "cells": [[99, "hives", "3"]]},
    ):
        reply = desk.post("/tables/change", wrong)
        assert reply.status == 422, wrong
        assert len(reply.json["lines"]) == 1
    assert {path.name: path.read_bytes() for path in farm.iterdir()} == before
    assert desk.get("/tables/x").status == 422


def test_undo_and_redo_go_over_tables_and_settings_alike(desk: Served, farm: Path) -> None:
    table = desk.get("/tables/jobs").json
    change = {"name": "jobs", "base": table["digest"], "cells": [[2, "note", "first"]]}
    assert desk.post("/tables/change", change).json["outcome"]["kept"]
    assert desk.post("/sites/base", {"latitude": 52.06, "longitude": -2.71}).json["lines"] == ["The base is moved."]
    assert read_farm(farm).base.place.latitude == 52.06
    fields = {"name": "sites"}
    assert desk.post("/tables/undo", fields).json["said"] == "Undone. The base: its place"
    assert desk.post("/tables/undo", fields).json["said"] == "Undone. Jobs: note of orchard"
    assert read_farm(farm).jobs[0].note == ""
    assert desk.post("/tables/undo", fields).json["said"] == "nothing to undo"
    assert desk.post("/tables/redo", fields).json["said"] == "Made again. Jobs: note of orchard"
    assert read_farm(farm).jobs[0].note == "first"


def test_a_broken_file_is_shown_as_closed_and_says_why(desk: Served, farm: Path) -> None:
    (farm / "sites.csv").write_text('id,hives,place\na,1,"52.1 -2.7\nb,2,x')
    assert "mend the file first" in desk.get("/tables/sites").json["closed"]
    assert desk.get("/sites").status == 200
    (farm / "sites.csv").write_text("id,place\na,52.1 -2.7\n")
    assert 'has no column "hives"' in desk.get("/tables/sites").json["closed"]
    base = desk.get("/tables/sites").json["digest"]
    assert desk.post("/tables/change", {"name": "sites", "base": base, "cells": [[2, "id", "b"]]}).status == 422


def test_a_place_is_told_with_its_grid_reference(desk: Served, farm: Path) -> None:
    del farm
    told = desk.post("/sites/spot", {"latitude": 52.2301, "longitude": -2.9402}).json["about"]
    grid = re.fullmatch(r"52\.23010, -2\.94020 \((SO [0-9]{4} [0-9]{4})\)", told[0])
    assert grid is not None
    assert kilometres(parse_place(grid[1]), Place(latitude=52.2301, longitude=-2.9402)) < 0.015  # a square of 10 m
    assert len(told) == 1  # no road map, no road
    assert desk.post("/sites/look", {"text": "SO 358 593"}).json["found"][0]["kind"] == ""
    assert desk.post("/sites/look", {"text": "beech"}).json["found"][0]["name"] == "Beech wood"
    assert desk.post("/sites/spot", {"latitude": 99}).status == 422
    assert desk.get("/sites/land").json == {}


def test_the_maps_own_files_ask_no_other_host(desk: Served, farm: Path) -> None:
    del farm
    script, style = desk.get("/sites/map.js"), desk.get("/sites/map.css")
    assert script.headers["content-type"].startswith("text/javascript")
    assert "BSD" in script.text
    assert "url(" not in style.text


def test_the_map_of_a_new_farm_is_chosen_and_jobs_are_written(desk: Served, farm: Path, tmp_path: Path) -> None:
    desk.desk.downloads = tmp_path / "downloads"
    assert desk.get("/begin").status == 200
    assert desk.post("/begin/map", {"map": 0, "map_name": "x.osm"}).status == 422
    assert desk.post("/begin/map", {}).json["lines"] == ["choose a road map first"]
    assert desk.post("/begin/jobs", {"kind": "no-such"}).status == 422
    before = len(read_farm(farm).jobs)
    assert desk.post("/begin/jobs", {"kind": "storm-check", "rank": "must"}).json == {"go": "/jobs"}
    assert len(read_farm(farm).jobs) == before + 5
    assert desk.get("/jobs").status == 200
