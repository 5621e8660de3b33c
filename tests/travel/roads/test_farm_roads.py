"""A whole farm on a road map: what is kept on disk, what overrides what, and what is said."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import numpy as np
import pytest

from routing.check import broken_promises
from routing.errors import RoadError
from routing.farm.models import Farm
from routing.planning.model.build_instance import build_instance
from routing.planning.plan import plan_days
from routing.round import ReasonCode, Round
from routing.travel.farm import farm_and_legs, farm_background, farm_legs, farm_road_report, prepare_roads
from routing.travel.leg_origin import LegOrigin
from routing.travel.roads.build import built
from routing.travel.roads.cache import cache_folder
from routing.travel.roads.engine import Engine
from tests.travel.roads.hand_map import ROADS, HandMap, at, farm_on

DATE = dt.date(2026, 6, 10)
LINE = HandMap(
    {"a": (0, 0), "b": (4, 0), "i": (9, 0), "j": (9, 3)},
    [(("a", "b"), {"highway": "primary", "maxspeed": "40"}), (("i", "j"), {"highway": "primary"})],
    {"b": {"place": "village", "name": "Bee <b>End</b>"}},
)


@pytest.fixture
def line_map(tmp_path: Path) -> Path:
    return LINE.write(tmp_path / "line.osm.pbf")


def planned(farm: Farm) -> Round:
    """Return the round of the farm, held against every promise."""
    walked, legs = farm_and_legs(farm)
    round_ = plan_days(build_instance(walked, legs, (DATE,)))
    assert broken_promises(round_, walked, legs) == ()
    return round_


def reasons(round_: Round) -> dict[str, ReasonCode]:
    return {left.site: left.reason for left in round_.left_out}


def test_a_round_on_roads_keeps_its_promises_and_says_why_a_site_cannot_be_driven_to(line_map: Path) -> None:
    sites = {"near": at(3, 0.1), "moor": at(2, 2), "island": at(9, 0.5)}
    round_ = planned(farm_on(line_map, at(0, 0), sites))
    assert reasons(round_) == {"moor": ReasonCode.NO_ROAD, "island": ReasonCode.NO_WAY}
    text = next(left.text for left in round_.left_out if left.site == "moor")
    assert re.search("200[0-3] m away", text)
    drive = round_.itineraries[0].stops[0].drive
    assert drive.origin is LegOrigin.ROAD
    assert drive.shape
    assert drive.turns
    assert any(line.startswith("The walk to Near is estimated: 100 m") for line in round_.estimates)
    assert not any("straight line" in line for line in round_.estimates)


def test_known_drives_override_the_map_and_reach_where_it_does_not(line_map: Path) -> None:
    """The map has 4 km at 40 km/h = 6 min to the end; the farmer knows 9, and 20 to the moor."""
    sites = {"end": at(4, 0), "moor": at(2, 2)}
    known = [("base", "end", 9.0), ("base", "moor", 20.0)]
    farm = farm_on(line_map, at(0, 0), sites, {"van": "van", "jeep": "4x4"}, known)
    legs = farm_legs(farm)
    for own in (legs, legs.of("van"), legs.of("jeep")):
        assert own.seconds[0].tolist() == [0, 540, 1200]
        assert own.origins[0][1:] == (LegOrigin.KNOWN, LegOrigin.KNOWN)
    assert legs.way(0, 1).shape
    assert legs.way(0, 2).shape == ""
    assert reasons(planned(farm)) == {}


def test_the_drive_factor_makes_every_drive_longer(line_map: Path) -> None:
    plain = farm_legs(farm_on(line_map, at(0, 0), {"end": at(4, 0)}))
    slower = farm_legs(farm_on(line_map, at(0, 0), {"end": at(4, 0)}, drive_factor=1.5))
    assert slower.seconds[0, 1] == np.ceil(plain.seconds[0, 1] * 1.5)
    assert slower.metres[0, 1] == plain.metres[0, 1]


def test_without_a_map_drives_are_estimates_and_said_so() -> None:
    farm = farm_on(None, at(0, 0), {"end": at(4, 0)})
    legs = farm_legs(farm)
    assert legs.origins[0][1] is LegOrigin.ESTIMATE
    assert legs.way(0, 1).shape == ""
    assert any("straight line" in line for line in planned(farm).estimates)
    assert "straight-line estimates" in farm_road_report(farm)[0]
    assert farm_background(farm, (at(0, 0),)) is None


def test_a_second_run_asks_the_engine_nothing_and_a_damaged_file_is_made_anew(
    line_map: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    farm = farm_on(line_map, at(0, 0), {"end": at(3.5, 0)})
    first = farm_legs(farm)
    asked: list[int] = []
    ask = Engine.matrix

    def counted(engine: Engine, snaps: object) -> object:
        asked.append(1)
        return ask(engine, snaps)  # type: ignore[arg-type]

    monkeypatch.setattr(Engine, "matrix", counted)
    assert farm_legs(farm).seconds.tolist() == first.seconds.tolist()
    assert asked == []
    newest = max((cache_folder() / "kept").glob("*/matrix-*"), key=lambda path: path.stat().st_mtime_ns)
    newest.write_bytes(newest.read_bytes()[:100])
    assert farm_legs(farm).seconds.tolist() == first.seconds.tolist()
    assert asked == [1]
    farm_legs(farm_on(line_map, at(0, 0), {"end": at(3.5, 0)}, gate_minutes=7))
    assert asked == [1, 1]


def test_an_answer_that_was_broken_off_is_not_kept(line_map: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    farm = farm_on(line_map, at(0, 0), {"end": at(3.25, 0)})
    prepare_roads(farm, lambda _words, _share: None)
    before = set((cache_folder() / "kept").glob("*/matrix-*"))

    def stopped(_engine: Engine, _snaps: object) -> object:
        raise KeyboardInterrupt

    monkeypatch.setattr(Engine, "matrix", stopped)
    with pytest.raises(KeyboardInterrupt):
        farm_legs(farm)
    assert set((cache_folder() / "kept").glob("*/matrix-*")) == before


def test_progress_runs_from_nothing_to_all_and_only_when_something_is_built(tmp_path: Path) -> None:
    path = HandMap({"a": (0, 0), "b": (3, 1)}, [(("a", "b"), {"highway": "tertiary"})]).write(tmp_path / "p.osm.pbf")
    told: list[float] = []
    built(path, ROADS, ["van", "4x4"], lambda _words, share: told.append(share))
    assert told[0] == 0
    assert told[-1] == 1
    assert told == sorted(told)
    told.clear()
    built(path, ROADS, ["van", "4x4"], lambda _words, share: told.append(share))
    assert told == []


def test_a_changed_map_is_built_anew(tmp_path: Path) -> None:
    path = tmp_path / "m.osm.pbf"
    found = []
    for limit in ("30", "50"):
        HandMap({"a": (0, 0), "b": (4, 0)}, [(("a", "b"), {"highway": "primary", "maxspeed": limit})]).write(path)
        found.append(int(farm_legs(farm_on(path, at(0, 0), {"end": at(4, 0)})).seconds[0, 1]))
        path.unlink()
    assert found == [pytest.approx(480, abs=3), pytest.approx(288, abs=3)]


def test_an_uncovered_farm_is_told_every_site_outside_and_how_far(line_map: Path) -> None:
    """The map's roads lie between 0 and 9 km east, 0 and 3 km north."""
    sites = {"east": at(12, 0.5), "inside": at(1, 0), "north": at(5, 5)}
    with pytest.raises(RoadError) as caught:
        farm_legs(farm_on(line_map, at(0, 0), sites))
    text = str(caught.value)
    assert 'site "east" by 3.0 km' in text
    assert 'site "north" by 2.0 km' in text
    assert "inside" not in text
    known = [("base", "east", 15.0), ("base", "north", 12.0)]
    assert farm_legs(farm_on(line_map, at(0, 0), sites, known=known)).seconds[0].tolist()[1] == 900


def test_a_base_without_a_road_is_told(line_map: Path) -> None:
    with pytest.raises(RoadError, match=r"no road near the base: the nearest is 90[0-2] m away"):
        farm_legs(farm_on(line_map, at(2, 0.9), {"end": at(4, 0)}))


def test_the_report_says_what_is_covered_who_is_off_the_road_and_what_known_drives_teach(line_map: Path) -> None:
    """4 km, 3 km and 2 km at 40 km/h are 6, 4.5 and 3 min; the farmer's are 1.2 times that."""
    sites = {"end": at(4, 0), "mid": at(3, 0), "low": at(2, 0), "moor": at(2, 2), "near": at(1, 0.2)}
    known = [("base", "end", 7.2), ("base", "mid", 5.4), ("base", "low", 3.6)]
    lines = farm_road_report(farm_on(line_map, at(0, 0), sites, known=known))
    assert "Ways that a van may use: 2" in lines
    moor = (
        r"Moor: no road near for a van; the nearest to stop on is a main road, 200[0-3] m away; the column parking .*"
    )
    assert any(re.fullmatch(moor, line) for line in lines)
    assert "Near: a van stops on a main road; walk 200 m, straight over open ground, 3.8 min each way." in lines
    assert any("3 known drives take 1.20 times" in line for line in lines)


def test_the_background_holds_roads_by_class_and_names_as_they_are(line_map: Path) -> None:
    roads = farm_background(farm_on(line_map, at(0, 0), {"end": at(4, 0)}), (at(0, 0), at(4, 0)))
    assert roads is not None
    assert set(roads.lines) == {"main"}
    assert [place.name for place in roads.names] == ["Bee <b>End</b>"]
    assert "OpenStreetMap contributors" in roads.credit
