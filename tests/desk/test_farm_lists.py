"""Tables and lists of farm.toml are changed in their place: only what differs is written, all else stays to the byte."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from routing.desk.farm_field import said_in
from routing.desk.farm_values import by_place, changed_values, made_of, matched, taken_out
from routing.errors import AskedError
from routing.farm.folder import read_farm
from routing.farm.kinds import load_catalogue
from tests.desk.full_farm import BANDS, FILE, field, full_folder, put, text_of, written


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return full_folder(tmp_path)


def test_one_speed_of_a_drive_band_changes_in_its_place(folder: Path) -> None:
    before = text_of(folder)
    rows = [["0", "1.6", "25"], ["5", "1.42", "37,5"], ["40", "1.3", "54"]]
    after = put(folder, ("rules", "drive_bands"), json.dumps(rows))
    assert after == before.replace("speed_kmh = 36", "speed_kmh = 37.5")
    assert [band.speed_kmh for band in read_farm(folder).rules.drive_bands] == [25, 37.5, 54]
    after = put(folder, ("rules", "drive_bands"), json.dumps([*rows, ["80", "1.28", "60"]]), "the van's log")
    assert "# lanes" in after
    assert "    # far\n" in after
    assert 'drive_bands_source = "the van\'s log"' in after
    rules = read_farm(folder).rules
    assert [band.straight_km for band in rules.drive_bands] == [0, 5, 40, 80]
    assert rules.drive_bands_source == "the van's log"
    after = put(folder, ("rules", "drive_bands"), json.dumps([rows[0], rows[2]]), "")
    assert "# lanes" in after
    rules = read_farm(folder).rules
    assert [band.straight_km for band in rules.drive_bands] == [0, 40]
    assert rules.drive_bands_source == FILE


def test_drive_bands_that_farm_toml_does_not_say_are_written_whole_and_taken_out_whole(folder: Path) -> None:
    whole = text_of(folder).replace(BANDS, "")
    (folder / FILE).write_text(whole, encoding="utf-8")
    one = field(folder, "rules", "drive_bands")
    assert one.table is not None
    rows = [list(row) for row in one.table.rows]
    rows[0][2] = "20"
    after = put(folder, ("rules", "drive_bands"), json.dumps(rows), "a slow van")
    assert "    {straight_km = 0, detour_factor = 1.6, speed_kmh = 20},\n" in after
    assert set(whole.splitlines()) <= set(after.splitlines())
    assert [band.speed_kmh for band in read_farm(folder).rules.drive_bands] == [20, 30, 36, 42, 48, 54, 60]
    after = written(folder, taken_out(said_in(after), field(folder, "rules", "drive_bands")))
    assert "drive_bands" not in after
    assert set(after.splitlines()) == set(whole.splitlines())


def test_drive_bands_under_headings_of_their_own_stay_so(folder: Path) -> None:
    own = "\n[[rules.drive_bands]] # near\nstraight_km = 1\ndetour_factor = 1.5\nspeed_kmh = 30\n"
    more = "[[rules.drive_bands]]\nstraight_km = 9 # km\ndetour_factor = 1.3\nspeed_kmh = 40\n"
    (folder / FILE).write_text(text_of(folder).replace(BANDS, "") + own + more, encoding="utf-8")
    before = text_of(folder)
    after = put(folder, ("rules", "drive_bands"), json.dumps([["1", "1.5", "30"], ["10", "1.3", "40"]]))
    assert after == before.replace("straight_km = 9 # km", "straight_km = 10 # km")
    after = put(
        folder, ("rules", "drive_bands"), json.dumps([["1", "1.5", "30"], ["10", "1.3", "40"], ["50", "1.3", "50"]])
    )
    assert len(read_farm(folder).rules.drive_bands) == 3
    assert after.startswith(before[: before.index("[[rules.drive_bands]]")])


def test_a_month_changes_in_its_place_with_the_source_beside_it(folder: Path) -> None:
    before = text_of(folder)
    one = field(folder, "feed", "mean_c")
    assert one.table is not None
    assert (one.own_source, one.source) == (
        "the school's thermometer",
        f"the school's thermometer ({FILE}, line {1 + before[: before.index('mean_c =')].count(chr(10))})",
    )
    rows = [list(row) for row in one.table.rows]
    rows[1] = ["-4,75"]
    assert put(folder, ("feed", "mean_c"), json.dumps(rows)) == before.replace("4.2, 4.5,  #", "4.2, -4.75,  #")
    rows = [["0.1"]] * 12
    after = put(folder, ("feed", "brood_share"), json.dumps(rows), "a cold valley")
    assert 'brood_share_source = "a cold valley"' in after
    season = read_farm(folder).season
    assert season is not None
    assert (season.feed.brood_share, season.feed.brood_share_source) == ((0.1,) * 12, "a cold valley")
    after = written(folder, taken_out(said_in(after), field(folder, "feed", "brood_share")))
    assert "brood_share" not in after


def test_a_limit_of_the_weather_has_its_source_beside_it(folder: Path) -> None:
    before = text_of(folder)
    way = ("job_kind", "paint", "min_temperature_c")
    assert field(folder, *way).own_source == "on the tin"
    assert put(folder, way, "9") == before.replace("min_temperature_c = 8 ", "min_temperature_c = 9 ")
    put(folder, ("job_kind", "heft", "max_wind_kmh"), "40", "cold hands")
    assert read_farm(folder).job_kinds["heft"].wind_source == "cold hands"
    after = written(folder, taken_out(said_in(text_of(folder)), field(folder, *way)))
    assert "temperature_source" not in after


def test_of_a_list_only_what_differs_is_written_and_none_is_not_nothing_said(folder: Path) -> None:
    before = text_of(folder)
    way = ("job_kind", "paint", "cautions")
    assert field(folder, *way).value == "stings\nPaint: keep it off the bees, and shut the tin."
    after = put(folder, way, "stings\nPaint: keep it off, please.\nalone")
    assert after == before.replace(
        '"Paint: keep it off the bees, and shut the tin."]', '"Paint: keep it off, please.", "alone"]'
    )
    assert put(folder, way, "alone\nstings").count("# two") == 1
    cautions = load_catalogue().cautions
    assert read_farm(folder).job_kinds["paint"].cautions == (cautions["alone"], cautions["stings"])
    assert read_farm(folder).job_kinds["strips-in"].not_with
    put(folder, ("job_kind", "strips-in", "not_with"), "")
    assert read_farm(folder).job_kinds["strips-in"].not_with == ()
    written(folder, taken_out(said_in(text_of(folder)), field(folder, "job_kind", "strips-in", "not_with")))
    assert read_farm(folder).job_kinds["strips-in"].not_with


def test_a_list_is_made_of_another_by_few_steps() -> None:
    for old, new in (
        ("abc", "abc"),
        ("abc", "ac"),
        ("abc", "bcd"),
        ("abc", "byz"),
        ("abcd", "xbd"),
        ("a", "abcde"),
        ("", "ab"),
    ):
        assert sorted(map(str, made_of(old, matched(("x",), old, new)))) == sorted(new), (old, new)
        assert made_of(old, by_place(("x",), old, new)) == list(new)
    assert matched(("x",), "abc", "ac") == {("x", 1): None}


@pytest.mark.parametrize(
    "text",
    ["", "{", "5", "[5]", '[["1","2"]]', '[["1","2",3]]', json.dumps([["1", "2", "3"]] * 51), '[["1","2","3",null]]'],
)
def test_rows_that_no_page_sends_are_refused(folder: Path, text: str) -> None:
    one = replace(field(folder, "rules", "drive_bands"), needed=True)
    with pytest.raises(AskedError):
        changed_values(read_farm(folder), said_in(text_of(folder)), one, text, "")
    months = field(folder, "feed", "mean_c")
    with pytest.raises(AskedError):
        changed_values(read_farm(folder), said_in(text_of(folder)), months, '[["1"]]', "")


def test_a_low_site_that_farm_toml_names_in_another_case_is_on_offer_once(folder: Path) -> None:
    (low,) = field(folder, "season", "low_sites").value.split(", ")
    before = text_of(folder).replace(f'low_sites = ["{low}"]', f'low_sites = ["{low.upper()}"]')
    (folder / FILE).write_text(before, encoding="utf-8")
    one = field(folder, "season", "low_sites")
    assert one.value == low.upper()
    assert [choice for choice in one.choices if choice.casefold() == low] == [low.upper()]
    assert {choice.casefold() for choice in one.choices} == {site.id for site in read_farm(folder).sites}
    other = next(site.id for site in read_farm(folder).sites if site.id != low)
    after = put(folder, ("season", "low_sites"), f"{low.upper()}, {other}")
    assert f'low_sites = ["{low.upper()}", "{other}"]' in after
    season = read_farm(folder).season
    assert season is not None
    assert season.low_sites == {low, other}
