"""Whatever farm.toml may say is changed at the desk: the keys that its readers know against those that the desk edits."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from routing.desk.edits import Edits
from routing.desk.farm_field import Kind, Way, said_in
from routing.desk.farm_fields import fields_of
from routing.desk.farm_values import USES, changed_values
from routing.desk.files.saving import digest_of
from routing.desk.files.toml_edit import toml_edited
from routing.errors import AskedError
from routing.farm.documents import Document, Keys
from routing.farm.due_rules import GO_WITH, HOWS, KEYS, keys_of, read_due_rule
from routing.farm.faults import Faults
from routing.farm.folder import read_farm
from routing.farm.kinds import load_catalogue
from routing.farm.settings import BASE_KEYS, TOP_KEYS
from routing.farm.year_rules import default_year, spare_rules
from tests.desk.full_farm import FILE, field, fields, full_folder, put, text_of, typed

ELSEWHERE = {
    ("base", "place"): "moved on the map under Sites",
    ("base", "latitude"): "moved on the map under Sites",
    ("base", "longitude"): "moved on the map under Sites",
    ("crew", 0, "id"): "given where it is added",
    ("vehicle", 0, "id"): "given where it is added",
}
"""Keys that are no value of the Farm view, each with where they are said."""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return full_folder(tmp_path)


def asked(folder: Path, monkeypatch: pytest.MonkeyPatch) -> set[Way]:
    """Every way to a key that a reader of farm.toml knows, as the readers tell it themselves while they read."""
    found: set[Way] = set()
    only = Keys.only

    def noted(self: Keys, *known: str) -> None:
        if self.document.file == FILE:
            found.update((*self.path, key) for key in known)
        only(self, *known)

    with monkeypatch.context() as patched:
        patched.setattr(Keys, "only", noted)
        read_farm(folder)
    return found


def test_every_key_that_a_reader_knows_is_changed_at_the_desk(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A key that is new to a reader and not to the desk fails here, of whatever table it is."""
    known = asked(folder, monkeypatch)
    assert {way[0] for way in known if len(way) == 1} == set(TOP_KEYS)
    assert {way[-1] for way in known if way[:1] == ("base",)} == set(BASE_KEYS) | {"base"}
    edited = {way for group in fields(folder).groups for one in group.fields for way in (one.way, one.source_way)}
    farm = read_farm(folder)
    assert farm.season is not None
    meaning: set[Way] = {("due", rule.id, key) for rule in farm.season.due.values() for key in keys_of(rule)}
    not_wanted = {way for way in known if way[0] == "due" and way[1:2] and way[1] not in farm.season.due}
    assert {way[1] for way in not_wanted} == {"water", "heft"}
    figure = {"value", "source", "confidence"}
    bands = field(folder, "rules", "drive_bands").table
    assert bands is not None
    left = {
        way
        for way in known - ELSEWHERE.keys()
        if way not in edited
        and not (way[0] == "job_kind" and way[-1] in USES)  # a material more: see below
        and not any(one[: len(way)] == way for one in edited)
        and not (way[-1] in figure and way[:-1] in edited)
        and not (way[0] == "due" and len(way) > 2 and (way not in meaning or way[1] not in farm.season.due))
        and not (way[:2] == ("rules", "drive_bands") and way[-1] in bands.keys)
    }
    assert left == set()
    assert {("due", key, "wanted") for key in ("water", "heft")} <= edited
    assert meaning <= edited
    assert {way[2] for way in meaning} == set(KEYS)


def test_the_keys_of_a_rule_are_all_that_its_reader_takes() -> None:
    """What is not shown is refused by the reader, or stands beside `after`, without which it says nothing."""
    kinds = load_catalogue().job_kinds
    values: dict[str, object] = {**dict.fromkeys(HOWS, 5), "by": "10-10", "after": "storm", "hives": "seen"}
    values |= {"fed_by": "10-10", "now_below_kg": 2, "earliest_days": 1, "latest_days": 2}
    looked = 0
    for rule in (*default_year().due.values(), *spare_rules().values()):
        for key in set(KEYS) - set(keys_of(rule)) - {"earliest_days", "latest_days"}:
            faults = Faults()
            table = Keys({key: values[key]}, ("due", rule.id), Document(FILE, faults, source=FILE))
            assert read_due_rule(rule.id, table, rule, kinds) is None, (rule.id, key)
            looked += 1
    assert looked > 150
    assert {*HOWS, *(key for keys in GO_WITH.values() for key in keys)} <= set(KEYS)


def test_every_value_as_it_stands_written_back_says_the_same(folder: Path) -> None:
    """All of them in one go, said or not: then farm.toml says each, and each is read as it was."""
    farm, said = read_farm(folder), said_in(text_of(folder))
    before = fields(folder)
    values: dict[Way, Any] = {}
    for group in before.groups:
        for one in group.fields:
            if one.value and one.way[-2:-1] not in {("takes",), ("brings_back",)}:
                values |= changed_values(farm, said, one, typed(one), one.own_source)
    (folder / FILE).write_bytes(toml_edited((folder / FILE).read_bytes(), FILE, values))
    now = fields(folder)
    assert len(values) > 1000
    for group, then in zip(before.groups, now.groups, strict=True):
        for one in group.fields:
            found = now.find(one.key)
            assert found.value == one.value, one.way
            assert found.said or not one.value or one.way[-2:-1] in {("takes",), ("brings_back",)}, one.way
        assert len(then.fields) == len(group.fields)


@pytest.mark.parametrize(
    ("way", "text"),
    [
        (("season", "first_frost"), "11-02"),
        (("due", "mouse-guards", "by"), "10-20"),
        (("due", "mouse-guards", "starts"), "09-20"),
        (("due", "mouse-guards", "rank"), "want"),
        (("due", "mouse-guards", "low_sites_days_earlier"), "7"),
        (("due", "autumn-feed", "fed_by"), "09-01"),
        (("due", "strips-in", "job"), "thymol-in"),
        (("due", "stores-low", "after"), "lid-off"),
        (("due", "water", "wanted"), "yes"),
        (("due", "security-check", "wanted"), "yes"),
        (("due", "queenless", "closed_by"), "requeen, heft"),
        (("feed", "warmer_by_c"), "-1.5"),
        (("feed", "spread_from"), "08-20"),
        (("material", "brick", "unit"), "litres"),
        (("material", "fondant", "pack"), "carton"),
        (("job_kind", "paint", "stays_until"), "heft"),
        (("job_kind", "paint", "not_with"), "fondant, oxalic"),
        (("job_kind", "paint", "set_down_minutes_a_hive"), "2"),
        (("time_zone",), "Europe/Dublin"),
        (("weather", "url"), "https://weather.example/v2"),
        (("find", "seconds"), "7"),
        (("roads", "credit"), "Ours"),
    ],
)
def test_a_value_is_changed_and_read_back(folder: Path, way: Way, text: str) -> None:
    before = text_of(folder)
    put(folder, way, text)
    assert field(folder, *way).value == text
    comments = [line.partition("#")[2] for line in before.splitlines() if "#" in line]
    assert [line.partition("#")[2] for line in text_of(folder).splitlines() if "#" in line] == comments


@pytest.mark.parametrize(
    ("way", "text", "words"),
    [
        (("rules", "drive_bands"), '[["0","1","x"]]', 'drive_bands 1] speed_kmh "x" is not a number'),
        (("rules", "drive_bands"), '[["0","1",""]]', "drive_bands 1] has no speed_kmh"),
        (("rules", "drive_bands"), '[["0","1","30"],["1","1","300"]]', "speed_kmh 300 must be from 1 to 200"),
        (("rules", "drive_bands"), "[]", "drive_bands has no band"),
        (("rules", "drive_bands"), '[["0","5","10"],["5","1","200"]]', "a farther place quicker to reach"),
        (("feed", "mean_c"), json.dumps([["x"]] * 12), "mean_c"),
        (("feed", "brood_share"), json.dumps([["1.5"]] * 12), "must be from 0 to 1"),
        (("due", "mouse-guards", "by"), "31 Oct", "is not a day of the year"),
        (("due", "mouse-guards", "by"), "02-30", "is not a day of the year"),
        (("season", "low_sites"), "nowhere", "which is not in sites.csv"),
        (("material", "fondant", "kg_each"), "2", "kg_each must be 1 where the unit is kg"),
        (("material", "fondant", "sold_by"), "0", "sold_by must be above 0"),
        (("job_kind", "paint", "not_with"), "cake", "names no job kind"),
        (("time_zone",), "Hollin Vale", "is not a time zone"),
        (("weather", "url"), "javascript:alert(1)", "is not an address of the web"),
    ],
)
def test_a_fault_is_the_readers_own_and_nothing_is_written(folder: Path, way: Way, text: str, words: str) -> None:
    before = text_of(folder)
    values = changed_values(read_farm(folder), said_in(before), field(folder, *way), text, "")
    outcome = Edits(folder).change_settings(digest_of(before.encode()), values)
    assert not outcome.kept
    assert words in outcome.why_not
    assert text_of(folder) == before


def test_a_road_map_is_one_that_stands_in_the_folder(folder: Path) -> None:
    farm, said = read_farm(folder), said_in(text_of(folder))
    one = fields_of(farm, said, ["other.osm.pbf"]).find('["roads", "map"]')
    assert (one.kind, one.choices) == (Kind.CHOICE, ("hollin-vale.osm.pbf", "other.osm.pbf"))
    for text in ("/etc/passwd", "../other.osm.pbf", "else.osm.pbf"):
        with pytest.raises(AskedError):
            changed_values(farm, said, one, text, "")
    assert changed_values(farm, said, one, "other.osm.pbf", "") == {("roads", "map"): "other.osm.pbf"}
