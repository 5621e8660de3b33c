"""A farm folder made of places that are written down somewhere: only what is missing is asked for."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from routing.errors import AskedError, FarmError, WriteError
from routing.farm.folder import read_farm
from routing.farm.new_farm import new_farm
from tests.farm.books import by_openpyxl

GPX = """<?xml version="1.0"?>
<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">
<wpt lat="52.06" lon="-2.71"><name>Yard</name></wpt>
<wpt lat="52.07" lon="-2.75"><name>Old orchard</name><desc>By the barn</desc></wpt>
<wpt lat="52.09" lon="-2.75"><name>Old orchard</name></wpt>
<wpt lat="52.10" lon="-2.75"/></gpx>"""
GEOJSON = """{"type": "FeatureCollection", "features": [
{"type": "Feature", "geometry": {"type": "Point", "coordinates": [13.4, 52.5]}, "properties": {"Title": "Ried", "hives": 4}},
{"type": "Feature", "geometry": {"type": "LineString", "coordinates": []}, "properties": {}}]}"""


def test_waypoints_with_one_of_them_as_the_base(tmp_path: Path) -> None:
    """Two of one name get ids of their own, and one without a name gets its number."""
    (tmp_path / "p.gpx").write_text(GPX)
    new_farm(tmp_path / "farm", places=tmp_path / "p.gpx", base="yard", hives=5)
    farm = read_farm(tmp_path / "farm")
    assert (farm.base.name, farm.base.place.latitude, farm.time_zone) == ("Yard", 52.06, "Europe/London")
    assert [site.id for site in farm.sites] == ["old-orchard", "old-orchard-2", "site-3"]
    assert [(site.hives, site.notes) for site in farm.sites] == [(5, "By the barn"), (5, ""), (5, "")]


def test_points_with_their_hives_and_what_is_no_point_is_told(tmp_path: Path) -> None:
    (tmp_path / "p.geojson").write_text(GEOJSON)
    _, warnings = new_farm(tmp_path / "farm", places=tmp_path / "p.geojson", base="52.51, 13.41", xlsx=True)
    assert [str(warning) for warning in warnings] == ["p.geojson: feature 2 is no point and was not read"]
    (site,) = read_farm(tmp_path / "farm").sites
    assert (site.id, site.hives, site.place.latitude, site.place.longitude) == ("ried", 4, 52.5, 13.4)


def test_a_table_with_names_of_another_program_and_decimal_commas(tmp_path: Path) -> None:
    """A note that a spreadsheet would calculate goes out guarded."""
    (tmp_path / "p.csv").write_text("Title;Note;Latitude;Longitude;Colonies\nWiese;=1+1;52,51;13,41;3\n")
    new_farm(tmp_path / "farm", places=tmp_path / "p.csv", base="52.5, 13.4")
    (site,) = read_farm(tmp_path / "farm").sites
    assert (site.name, site.notes, site.hives, site.place.longitude) == ("Wiese", "'=1+1", 3, 13.41)


def test_a_farm_is_made_of_its_own_sites_again(tmp_path: Path) -> None:
    by_openpyxl(
        tmp_path / "s.xlsx",
        {
            "Sites": [
                ["id", "name", "place", "hives", "hours", "closed"],
                ["a", "A", "SO 498 431", 3, "8-16", "Sun 24/12/2026"],
            ]
        },
    )
    new_farm(tmp_path / "farm", places=tmp_path / "s.xlsx", base="SO 512 402")
    (site,) = read_farm(tmp_path / "farm").sites
    assert (site.id, site.hives, len(site.hours), len(site.closed_dates)) == ("a", 3, 1, 1)


def test_only_what_is_missing_is_asked(tmp_path: Path) -> None:
    (tmp_path / "p.gpx").write_text(GPX)
    asked: list[str] = []

    def answer(question: str) -> str:
        asked.append(question)
        return "Yard" if "loaded" in question else "7"

    new_farm(tmp_path / "farm", places=tmp_path / "p.gpx", ask=answer)
    assert [question.partition(" (")[0] for question in asked] == [
        *("Where is the vehicle loaded", 'Hives at "Old orchard"', 'Hives at "Old orchard"', 'Hives at "place 4"')
    ]
    assert {site.hives for site in read_farm(tmp_path / "farm").sites} == {7}
    with pytest.raises(AskedError, match=r"where the vehicle is loaded, and nobody is there to ask: say --base"):
        new_farm(tmp_path / "other", places=tmp_path / "p.gpx")
    with pytest.raises(AskedError, match=r"how many hives are at Old orchard, .*: say --hives 10"):
        new_farm(tmp_path / "other", places=tmp_path / "p.gpx", base="Yard")
    assert not (tmp_path / "other").exists()


def test_hives_are_asked_site_by_site_until_one_number_is_meant_for_all(tmp_path: Path) -> None:
    """What is no number is asked again; a site for which the table has a number is not asked about."""
    (tmp_path / "p.csv").write_text("name,lat,lon,hives\nA,52.1,-2.7,\nB,52.2,-2.7,9\nC,52.3,-2.7,\nD,52.4,-2.7,\n")
    answers = iter(["nowhere", "52.1, -2.6", "many", "4", "6 all"])
    new_farm(tmp_path / "farm", places=tmp_path / "p.csv", ask=lambda _: next(answers))
    assert [site.hives for site in read_farm(tmp_path / "farm").sites] == [4, 9, 6, 6]
    with pytest.raises(AskedError, match="no number of hives was given"):
        new_farm(tmp_path / "other", places=tmp_path / "p.csv", base="52.1, -2.6", ask=lambda _: "many")


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("p.gpx", "<gpx", "p.gpx: is not GPX"),
        ("p.gpx", '<!DOCTYPE x [<!ENTITY a "b">]><gpx/>', "p.gpx: declares a document type"),
        ("p.gpx", '<gpx version="1.1"/>', "p.gpx: holds no place"),
        ("p.gpx", '<gpx><wpt lat="north" lon="1"/></gpx>', "p.gpx: is not GPX"),
        ("p.geojson", "[" * 100_000, "p.geojson: is not GeoJSON"),
        ("p.geojson", '{"type": "Point", "coordinates": [1e999, NaN]}', "p.geojson: holds no place"),
        ("p.geojson", '{"features": [1, null, {"geometry": 3}]}', "p.geojson: holds no place"),
        ("p.csv", "colour,size\nred,2\n", "p.csv: holds no place"),
        ("p.csv", "name,lat,lon\nA,91,1\n", "p.csv:2: "),
        ("p.csv", "name,lat,lon,hives\nA,52,-2,12x\n", 'p.csv:2: hives "12x" is not a whole number'),
        ("p.kmz", "x", 'p.kmz: has the ending ".kmz", which is none that is read'),
        ("p.xlsx", "x", "p.xlsx: is not a whole workbook"),
    ],
)
def test_what_is_wrong_with_a_file_of_places_is_told_and_nothing_written(
    tmp_path: Path, name: str, content: str, words: str
) -> None:
    (tmp_path / name).write_text(content)
    with pytest.raises(FarmError) as caught:
        new_farm(tmp_path / "farm", places=tmp_path / name, base="52.1, -2.7", hives=1)
    lines = [str(fault) for fault in caught.value.faults if not fault.warning]
    assert lines[0].startswith(words)
    assert not (tmp_path / "farm").exists()


def test_the_example_as_a_workbook_is_the_example_farm(tmp_path: Path) -> None:
    """Same sites, jobs and drives; drop-downs, notes, date cells and a header that stays; the same bytes each time."""
    new_farm(tmp_path / "csv")
    new_farm(tmp_path / "one", xlsx=True)
    new_farm(tmp_path / "two", xlsx=True)
    assert (tmp_path / "one" / "farm.xlsx").read_bytes() == (tmp_path / "two" / "farm.xlsx").read_bytes()
    plain, book = read_farm(tmp_path / "csv"), read_farm(tmp_path / "one")
    assert [site.model_copy(update={"line": 0}) for site in plain.sites] == [
        site.model_copy(update={"line": 0}) for site in book.sites
    ]
    assert [(job.site, job.kind, job.due_by, job.rank) for job in plain.jobs] == [
        (job.site, job.kind, job.due_by, job.rank) for job in book.jobs
    ]
    workbook = openpyxl.load_workbook(tmp_path / "one" / "farm.xlsx")
    jobs = workbook["Jobs"]
    assert jobs.freeze_panes == "B2"
    assert jobs["E2"].is_date or jobs["F2"].is_date
    assert {rule.formula1 for rule in jobs.data_validations.dataValidation} == {
        *(
            "Sites!$A$2:$A$1001",
            "Kinds!$A$1:$A$33".replace("33", str(workbook["Kinds"].max_row)),
            '"now,must,want,passing"',
        )
    }
    assert jobs["A1"].comment.text.startswith("The id of a site.")


def test_nothing_is_written_beside_another_table(tmp_path: Path) -> None:
    (tmp_path / "sites.csv").write_text("")
    with pytest.raises(WriteError, match=r"already has sites\.csv"):
        new_farm(tmp_path, xlsx=True)
    with pytest.raises(AskedError, match="go with --from"):
        new_farm(tmp_path / "farm", base="52, 1")
