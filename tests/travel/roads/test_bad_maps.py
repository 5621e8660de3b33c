"""Maps that are missing, broken or empty: one clear sentence, and what was built before still stands."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from routing.errors import FarmError, RoadError
from routing.farm.folder import read_farm
from routing.travel.farm import farm_legs
from routing.travel.roads.build import built
from routing.travel.roads.cache import cache_folder
from routing.travel.roads.extract import read_extract
from tests.farm.conftest import FARM_TOML, JOBS_CSV, SITES_CSV
from tests.travel.roads.hand_map import ROADS, HandMap, at, farm_on

SMALL = HandMap({"a": (0, 0), "b": (3, 0)}, [(("a", "b"), {"highway": "primary"})])


def large_map(path: Path) -> Path:
    """Write a map of many blocks, so that it can be cut in the middle."""
    spots = {f"{n}": (n % 100 * 0.1, n // 100 * 0.1) for n in range(8_000)}
    ways = [((f"{n}", f"{n + 1}"), {"highway": "primary", "name": f"Road {n}"}) for n in range(7_999)]
    return HandMap(spots, list(ways)).write(path)


def builds() -> set[Path]:
    return {path for path in cache_folder().iterdir() if path.name != "kept"}


def test_a_map_that_is_cut_short_is_refused_and_the_old_build_stands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))  # where no other test builds meanwhile
    path = large_map(tmp_path / "county.osm.pbf")
    whole = path.read_bytes()
    before = farm_legs(farm_on(path, at(0, 0), {"end": at(2, 0)}))
    kept = builds()
    for share in (0.3, 0.7, 0.99):
        path.write_bytes(whole[: int(share * len(whole))])
        with pytest.raises(RoadError, match=r"county\.osm\.pbf.* cannot be read.*download it again"):
            farm_legs(farm_on(path, at(0, 0), {"end": at(2, 0)}))
        assert builds() == kept
    path.write_bytes(whole)
    assert farm_legs(farm_on(path, at(0, 0), {"end": at(2, 0)})).seconds.tolist() == before.seconds.tolist()


@pytest.mark.parametrize("content", [b"", b"hello", b"\x00" * 5000, b"<osm version='0.6'><node", b"PK\x03\x04zip"])
@pytest.mark.parametrize("name", ["m.osm.pbf", "m.osm", "m.txt"])
def test_a_file_that_is_no_map_is_refused(tmp_path: Path, name: str, content: bytes) -> None:
    (tmp_path / name).write_bytes(content)
    with pytest.raises(RoadError, match=r"cannot be read|holds no road"):
        built(tmp_path / name, ROADS, ["van"])


def test_a_map_without_a_usable_road_is_refused(tmp_path: Path) -> None:
    paths = HandMap({"a": (0, 0), "b": (3, 0)}, [(("a", "b"), {"highway": "footway"})]).write(tmp_path / "f.osm.pbf")
    with pytest.raises(RoadError, match="no road that a van may use"):
        built(paths, ROADS, ["van"])
    bare = HandMap({"a": (0, 0), "b": (3, 0)}, []).write(tmp_path / "n.osm.pbf")
    with pytest.raises(RoadError, match="holds no road"):
        built(bare, ROADS, ["van"])


def xml_map(path: Path, nodes: Sequence[object], ways: Sequence[object], name: str = "Lane") -> Path:
    """Write a map of a road in pieces, 3 km east and then 3 km north, with these numbers."""
    spots = (at(0, 0), at(3, 0), at(3, 3))
    text = [
        f"<node id='{n}' lat='{p.latitude:.7f}' lon='{p.longitude:.7f}'/>" for n, p in zip(nodes, spots, strict=True)
    ]
    tags = f"<tag k='highway' v='primary'/><tag k='name' v='{name}'/>"
    for number, start, end in zip(ways, nodes[:-1], nodes[1:], strict=True):
        text.append(f"<way id='{number}'><nd ref='{start}'/><nd ref='{end}'/>{tags}</way>")
    path.write_text(f"<?xml version='1.0'?><osm version='0.6'>{''.join(text)}</osm>")
    return path


@pytest.mark.parametrize(
    ("nodes", "ways"),
    [
        ((2**62, 2**62 + 1, 2**62 + 2), (2**62, 2**62 + 5)),
        ((2**63 - 2, 2**63 - 3, 1), (2**63 - 2, 4)),
        ((0, 1, 2), (0, 1)),
    ],
)
def test_numbers_of_any_size_and_order_give_the_same_minutes(
    tmp_path: Path, nodes: Sequence[int], ways: Sequence[int]
) -> None:
    plain, huge = xml_map(tmp_path / "p.osm", (1, 2, 3), (1, 2)), xml_map(tmp_path / "h.osm", nodes, ways)
    minutes = [farm_legs(farm_on(path, at(0, 0), {"end": at(3, 3)})).seconds.tolist() for path in (plain, huge)]
    assert minutes[0] == minutes[1]
    assert minutes[0][0][1] > 0


@pytest.mark.parametrize("number", [2**63, -(2**63) - 1, "9" * 400, "1e5", "0x10", "", "a"])
@pytest.mark.parametrize("of", ["node", "way"])
def test_numbers_beyond_what_a_map_may_have_are_refused(tmp_path: Path, number: object, of: str) -> None:
    path = xml_map(tmp_path / "m.osm", (number if of == "node" else 1, 2, 3), (number if of == "way" else 1, 2))
    with pytest.raises(RoadError, match=r'"m\.osm" cannot be read: illegal id') as caught:
        built(path, ROADS, ["van"])
    assert len(str(caught.value)) < 300


def test_roads_that_an_editor_has_not_saved_are_told_as_such(tmp_path: Path) -> None:
    for nodes, ways in (((-1, -2, -3), (1, 2)), ((1, 2, 3), (1, -2)), ((1, 2, -(2**62)), (1, 2))):
        with pytest.raises(RoadError, match="numbers below zero, as only an editor's unsaved work has"):
            built(xml_map(tmp_path / "m.osm", nodes, ways), ROADS, ["van"])


def test_names_of_a_map_hold_nothing_that_a_screen_obeys(tmp_path: Path) -> None:
    """Controls of the second set, marks that turn the direction and those without a width go; joiners of letters stay."""
    path = xml_map(tmp_path / "m.osm", (1, 2, 3), (1, 2), "Mill&#x9b;31m\u202e\u200b La\u200dne")
    assert {tags["name"] for tags in read_extract(path).tags} == {"Mill31m La\u200dne"}


def test_a_map_that_went_away_is_told(tmp_path: Path) -> None:
    with pytest.raises(RoadError, match="cannot be opened"):
        built(tmp_path / "gone.osm.pbf", ROADS, ["van"])


def test_a_cache_that_cannot_be_written_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = SMALL.write(tmp_path / "s.osm.pbf")
    (tmp_path / "file").write_text("not a folder")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))
    with pytest.raises(RoadError, match="cannot be built in"):
        built(path, ROADS, ["van"])


@pytest.mark.parametrize(
    ("roads", "words"),
    [
        ('map = "gone.osm.pbf"', 'map "gone.osm.pbf" is no file in the farm folder'),
        ('map = ""', "map is empty"),
        ("map = 3", "map 3 is not text"),
        ('mao = "x"', 'has a key "mao" that is not known'),
    ],
)
def test_farm_toml_is_told_at_its_line(tmp_path: Path, roads: str, words: str) -> None:
    (tmp_path / "farm.toml").write_text(f"{FARM_TOML}[roads]\n{roads}\n")
    (tmp_path / "sites.csv").write_text(SITES_CSV)
    (tmp_path / "jobs.csv").write_text(JOBS_CSV)
    with pytest.raises(FarmError) as caught:
        read_farm(tmp_path)
    line = FARM_TOML.count("\n") + 2
    assert [str(fault) for fault in caught.value.faults if fault.line == line and words in fault.what]


def test_what_farm_toml_says_of_roads_is_read(tmp_path: Path) -> None:
    SMALL.write(tmp_path / "county.osm.pbf")
    roads = '[roads]\nmap = "county.osm.pbf"\n[rules.roads]\ngate_minutes = 3\n[rules.roads.speeds_kmh]\nprimary = 60\n'
    text = FARM_TOML.replace('id = "van"\n', 'id = "van"\ndrives = "4x4"\n') + roads
    (tmp_path / "farm.toml").write_text(text)
    (tmp_path / "sites.csv").write_text(SITES_CSV)
    (tmp_path / "jobs.csv").write_text(JOBS_CSV)
    farm = read_farm(tmp_path)
    assert farm.road_map == tmp_path / "county.osm.pbf"
    assert farm.vehicles["van"].drives == "4x4"
    assert farm.rules.roads is not None
    assert farm.rules.roads.gate_minutes.value == 3
    assert farm.rules.roads.speeds_kmh["primary"].value == 60
    assert farm.rules.roads.speeds_kmh["service"] == ROADS.speeds_kmh["service"]


@pytest.mark.parametrize("wrong", ["walking_kmh = 0", "barrow_factor = 0.5", "[rules.roads.speeds_kmh]\nprmary = 60"])
def test_road_rules_that_make_no_sense_are_refused(tmp_path: Path, wrong: str) -> None:
    (tmp_path / "farm.toml").write_text(f"{FARM_TOML}[rules.roads]\n{wrong}\n")
    (tmp_path / "sites.csv").write_text(SITES_CSV)
    (tmp_path / "jobs.csv").write_text(JOBS_CSV)
    with pytest.raises(FarmError, match=r"at least|not known"):
        read_farm(tmp_path)
