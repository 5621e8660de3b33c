"""What is added to farm.toml as a whole, and taken out of it again when nothing uses it."""

from __future__ import annotations

from pathlib import Path

import pytest

from routing.desk.edits import Edits
from routing.desk.farm_field import said_in
from routing.desk.farm_new import NEW, added_values, dropped_values, offered
from routing.desk.farm_values import taken_out
from routing.desk.files.saving import digest_of
from routing.desk.given import Given
from routing.errors import AskedError
from routing.farm.folder import read_farm
from tests.desk.full_farm import FILE, field, full_folder, text_of, written


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return full_folder(tmp_path)


def add(folder: Path, what: str, **more: str) -> str:
    values, words = added_values(read_farm(folder), said_in(text_of(folder)), Given({"what": what, **more}))
    before = text_of(folder)
    after = written(folder, values)
    assert set(filter(None, before.splitlines())) <= set(after.splitlines())
    return words


def drop(folder: Path, kind: str, name: str) -> tuple[bool, str]:
    content = (folder / FILE).read_bytes()
    values, words = dropped_values(read_farm(folder), said_in(content.decode()), kind, name)
    outcome = Edits(folder).change_settings(digest_of(content), values)
    return outcome.kept, words if outcome.kept else outcome.why_not


def test_a_material_comes_with_its_stock_is_used_and_goes_only_when_nothing_uses_it(folder: Path) -> None:
    new = {"id": "candy", "name": "Candy", "unit": "kg", "kg_each": "1", "litres_each": "0,8", "sold_by": "5"}
    assert add(folder, "material", **new, pack="tub", stock="40", source="the maker") == "A material more: candy"
    farm = read_farm(folder)
    candy = farm.materials["candy"]
    assert (candy.unit, candy.pack, candy.litres_each.value, farm.stock["candy"]) == ("kg", "tub", 0.8, 40)
    assert {candy.kg_each.source, candy.litres_each.source} == {"the maker"}
    use = {"kind": "paint", "use": "takes", "material": "candy", "a_hive": "0.5"}
    assert add(folder, "use", **use) == "paint takes: candy"
    add(folder, "use", kind="heft", use="brings back", material="candy", a_hive="2", source="seen")
    add(folder, "feed", material="candy", stores_kg_a_unit="0.9", most_a_feed="2.5")
    farm = read_farm(folder)
    assert [one.material for one in farm.job_kinds["paint"].takes] == ["brick", "candy"]
    assert [one.a_hive.source for one in farm.job_kinds["heft"].brings_back] == ["seen"]
    kept, why = drop(folder, "material", "candy")
    assert not kept
    assert why.count("names no known material") == 4
    written(folder, taken_out(said_in(text_of(folder)), field(folder, "job_kind", "paint", "takes", "candy")))
    written(folder, taken_out(said_in(text_of(folder)), field(folder, "job_kind", "heft", "brings_back", "candy")))
    assert "brings_back]\ncandy" not in text_of(folder)
    for key in ("stores_kg_a_unit", "most_a_feed"):
        written(folder, taken_out(said_in(text_of(folder)), field(folder, "feed", key, "candy")))
    assert drop(folder, "material", "candy") == (True, "Material taken out: candy, and its stock of 40")
    assert "candy" not in text_of(folder)
    assert "candy" not in read_farm(folder).materials


def test_a_rule_of_the_year_is_added_and_taken_out(folder: Path) -> None:
    add(folder, "due", id="Scrub", job="paint", rank="want", by="06-10", starts="05-01", source="our habit")
    season = read_farm(folder).season
    assert season is not None
    assert (season.due["Scrub"].by, season.due["Scrub"].source) == ("06-10", "our habit")
    assert drop(folder, "due", "Scrub") == (True, "Rule of the year taken out: Scrub")
    with pytest.raises(AskedError, match="already"):
        add(folder, "due", id="water", job="water", every_days="3")
    with pytest.raises(AskedError, match="any more"):
        drop(folder, "due", "mouse-guards")


def test_a_service_that_finds_places_is_offered_only_where_there_is_none(folder: Path) -> None:
    assert "find" not in offered(read_farm(folder))
    assert drop(folder, "find", "")[0]
    assert set(offered(read_farm(folder))) == set(NEW)
    add(folder, "find", url="https://places.example/x", terms="ask first")
    finder = read_farm(folder).finder
    assert finder is not None
    assert (finder.url, finder.terms, finder.seconds) == ("https://places.example/x", "ask first", 10)


def test_a_great_stock_that_goes_with_its_material_is_told_in_full(folder: Path) -> None:
    new = {"id": "candy", "name": "Candy", "unit": "pieces", "kg_each": "0.1", "litres_each": "0.1"}
    add(folder, "material", **new, stock="1234567.5")
    assert drop(folder, "material", "candy") == (True, "Material taken out: candy, and its stock of 1234567.5")
