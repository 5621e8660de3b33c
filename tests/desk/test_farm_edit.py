"""The farm is changed value by value in farm.toml: all else stays to the byte, faults stand at the field, nothing is lost."""

from __future__ import annotations

import json
import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from routing.desk.farm_field import FarmField, Kind, said_in
from routing.desk.farm_fields import FarmFields, fields_of
from routing.desk.farm_values import changed_values
from routing.desk.files.saving import digest_of
from routing.farm.crews import CREW_KEYS, VEHICLE_KEYS
from routing.farm.rules import RULE_FIGURES
from routing.share.wording.farm_numbers import kind_numbers, rule_numbers, year_numbers
from tests.conftest import HOLLIN_VALE
from tests.desk.served import Served, served
from tests.share.axe import violations_in

FILE = "farm.toml"


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Served]:
    folder = shutil.copytree(HOLLIN_VALE, tmp_path / "farm", ignore=shutil.ignore_patterns("rounds"))
    with served(folder, tmp_path) as one:
        yield one


def text_of(desk: Served) -> str:
    return (desk.desk.folder / FILE).read_text(encoding="utf-8")


def fields(desk: Served) -> FarmFields:
    return fields_of(desk.desk.written_farm(), said_in(text_of(desk)))


def field(desk: Served, *way: str | int) -> FarmField:
    return fields(desk).find(json.dumps(way))


def put(desk: Served, way: tuple[str | int, ...], text: object, **more: object) -> dict[str, list[str]]:
    """Change a value as the page does, and return what the desk answers."""
    one = field(desk, *way)
    sent = {"key": json.dumps(way), "text": text, "was": one.value, "whose": one.whose, **more}
    answer = desk.post("/farm/set", sent)
    assert answer.status == 200, (way, answer.text)
    found: dict[str, list[str]] = answer.json
    return found


def typed(one: FarmField) -> str:
    """Return a value as the page sends it: a table of numbers row by row."""
    return json.dumps(one.table.rows) if one.table else one.value


def test_every_value_of_crews_vehicles_and_rules_and_every_number_shown_may_be_changed(desk: Served) -> None:
    farm, found = desk.desk.written_farm(), fields(desk)
    keys = {one.way for group in found.groups for one in group.fields}
    assert {way[2] for way in keys if way[:2] == ("crew", 0)} == {*CREW_KEYS} - {"id"}
    assert {way[2] for way in keys if way[:2] == ("vehicle", 0)} == {*VEHICLE_KEYS} - {"id"}
    assert {("rules", name) for name in RULE_FIGURES} <= keys
    assert {("stock", material) for material in farm.materials} <= keys
    numbers = [number for _, group in rule_numbers(farm) for number in group]
    numbers += [number for kind in kind_numbers(farm) for number in kind.numbers if number.way]
    numbers += [number for _, rule in year_numbers(farm) for number in rule.numbers]
    assert len(numbers) > 100
    assert {number.way for number in numbers} <= keys
    assert all(one.source for group in found.groups for one in group.fields)


def test_each_kind_of_value_written_as_it_is_leaves_the_farm_as_it_is(desk: Served) -> None:
    """One of each kind, first not said, then said: what is typed is read back as the same value."""
    before = desk.desk.written_farm()
    seen = set()
    for group in fields(desk).groups:
        for one in group.fields:
            if (one.kind, one.said, len(one.way)) in seen or not one.value:
                continue
            seen.add((one.kind, one.said, len(one.way)))
            told = put(desk, one.way, typed(one), source=one.own_source)
            assert "lines" in told, (one.way, told)
            assert field(desk, *one.way).value == one.value, one.way
            assert field(desk, *one.way).said
    assert {kind for kind, _, _ in seen} == set(Kind)
    now = desk.desk.written_farm()
    assert (now.crews, now.vehicles, now.stock, now.base) == (before.crews, before.vehicles, before.stock, before.base)
    while desk.desk.edits.can[0]:
        assert desk.post("/undo", {"mark": desk.desk.edits.mark}).status == 200
    assert text_of(desk) == (HOLLIN_VALE / FILE).read_text(encoding="utf-8")


def test_only_the_one_line_changes_and_its_comment_stays(desk: Served) -> None:
    before = text_of(desk)
    put(desk, ("stock", "fondant"), "212,5")
    assert text_of(desk) == before.replace("fondant = 175          # four", "fondant = 212.5          # four")
    put(desk, ("job_kind", "fondant", "minutes_a_hive"), "2.5", source="bench notes, May")
    line = 'minutes_a_hive = {value = 2.5, source = "bench notes, May", confidence = "farm"}     # from last'
    assert line in text_of(desk)
    number = desk.desk.written_farm().job_kinds["fondant"].minutes_a_hive
    assert (number.value, number.source, number.confidence) == (2.5, "bench notes, May", "farm")
    put(desk, ("job_kind", "fondant", "minutes_a_hive"), "")
    assert not field(desk, "job_kind", "fondant", "minutes_a_hive").said


def test_line_ends_and_a_byte_order_mark_stay(desk: Served) -> None:
    file = desk.desk.folder / FILE
    before = text_of(desk).replace("\n", "\r\n").encode()
    file.write_bytes(before)
    put(desk, ("crew", 0, "people"), "2")
    assert file.read_bytes() == before.replace(b"people = 1", b"people = 2")


def test_a_table_of_what_is_taken_keeps_the_others_with_their_sources(desk: Served) -> None:
    """`takes` in farm.toml stands for all that a kind takes: whatever else it takes is written along as it was."""
    farm = desk.desk.written_farm()
    (only,) = farm.job_kinds["fondant"].takes
    two = (only, only.model_copy(update={"material": "netting"}))
    kinds = {**farm.job_kinds, "fondant": farm.job_kinds["fondant"].model_copy(update={"takes": two})}
    made = farm.model_copy(update={"job_kinds": kinds})
    one = fields_of(made, said_in(text_of(desk))).find(json.dumps(["job_kind", "fondant", "takes", "fondant"]))
    values = changed_values(made, said_in(text_of(desk)), one, "3", "")
    assert desk.desk.edits.change_settings(digest_of(desk.desk.edits.settings()), values).kept
    first, second = desk.desk.written_farm().job_kinds["fondant"].takes
    assert (first.material, first.a_hive.value, first.a_hive.source) == ("fondant", 3, FILE)
    assert (second.material, second.a_hive) == ("netting", only.a_hive)
    assert "lines" in put(desk, ("job_kind", "fondant", "takes", "netting"), "2")
    assert [use.a_hive.value for use in desk.desk.written_farm().job_kinds["fondant"].takes] == [3, 2]


@pytest.mark.parametrize(
    ("way", "text", "words"),
    [
        (("crew", 0, "people"), "21", "must be from 1 to 20"),
        (("crew", 0, "people"), "two", "is not a whole number"),
        (("crew", 0, "earliest_start"), "25:00", "earliest_start"),
        (("crew", 0, "vehicle"), "lorry", "is not in the file"),
        (("crew", 0, "days_off"), "Sun, Someday", "Someday"),
        (("crew", 0, "home_before_dark"), "perhaps", "is neither true nor false"),
        (("vehicle", 0, "payload_kg"), "-5", "payload_kg"),
        (("vehicle", 0, "payload_kg"), "nan", "is not a number"),
        (("vehicle", 0, "payload_kg"), "1e400", "is not a number"),
        (("vehicle", 0, "drives"), "boat", "boat"),
        (("stock", "fondant"), "much", "is not a number"),
        (("rules", "call_in_minutes"), "0", "must be at least 1"),
        (("job_kind", "fondant", "light"), "moon", "moon"),
        (("rules", "units"), "furlongs", "is neither km nor miles"),
    ],
)
def test_a_fault_is_told_in_the_readers_words_and_nothing_is_written(
    desk: Served, way: tuple[str | int, ...], text: str, words: str
) -> None:
    before = text_of(desk)
    told = put(desk, way, text)
    assert any(words in line for line in told["faults"]), told
    assert text_of(desk) == before


def test_what_must_be_said_or_is_not_said_or_is_no_value_is_refused(desk: Served) -> None:
    before = text_of(desk)
    for sent in (
        {"key": json.dumps(["crew", 0, "home_by"]), "text": "", "was": "17:30", "whose": "rowan"},
        {"key": json.dumps(["crew", 0, "trips_a_day"]), "text": "", "was": "2", "whose": "rowan"},
        {"key": json.dumps(["crew", 7, "people"]), "text": "2", "was": "1"},
        {"key": json.dumps(["roads", "map"]), "text": "/etc/passwd", "was": "hollin-vale.osm.pbf"},
        {"key": json.dumps(["find", "url"]), "text": "https://evil.example", "was": ""},
        {"key": "[", "text": "2", "was": "1"},
        {"key": 5, "text": "2", "was": "1"},
        {"key": json.dumps(["crew", 0, "people"]), "text": 2, "was": "1", "whose": "rowan"},
    ):
        assert desk.post("/farm/set", sent).status == 422, sent
    for key in ("[", "5", '["crew", "nobody"]', '["job_kind", "inspect"]', '["roads", "map"]', "[[], {}]"):
        assert desk.post("/farm/drop", {"key": key}).status == 422, key
    for sent in ({"what": "road"}, {"what": "crew"}, {"what": "job_kind", "id": "fondant"}):
        assert desk.post("/farm/add", sent).status == 422, sent
    assert text_of(desk) == before


def test_a_crew_a_vehicle_and_a_job_kind_are_added_and_taken_out_and_undone_to_the_byte(desk: Served) -> None:
    before = text_of(desk)
    lorry = {"what": "vehicle", "id": "pick-up", "name": "Pick-up", "payload_kg": "900", "space_litres": "1500"}
    assert "lines" in desk.post("/farm/add", {**lorry, "drives": "4x4"}).json
    two = {"what": "crew", "id": "two", "name": "Two", "people": "2", "vehicle": "pick-up"}
    assert "lines" in desk.post("/farm/add", {**two, "earliest_start": "07:00", "home_by": "16:00"}).json
    kind = {"what": "job_kind", "id": "paint", "name": "Paint", "minutes_a_visit": "5", "minutes_a_hive": "4"}
    assert "lines" in desk.post("/farm/add", kind).json
    farm = desk.desk.written_farm()
    assert farm.crew("two").vehicle == "pick-up"
    assert farm.vehicles["pick-up"].payload_kg == 900
    assert farm.job_kinds["paint"].minutes_a_hive.value == 4
    assert all(line in text_of(desk) for line in before.splitlines())
    refused = desk.post("/farm/drop", {"key": '["vehicle", "pick-up"]'}).json
    assert any("pick-up" in line for line in refused["faults"]), refused
    assert "lines" in desk.post("/farm/drop", {"key": '["crew", "two"]'}).json
    assert "lines" in desk.post("/farm/drop", {"key": '["vehicle", "pick-up"]'}).json
    assert "lines" in desk.post("/farm/drop", {"key": '["job_kind", "paint"]'}).json
    assert tomllib.loads(text_of(desk)) == tomllib.loads(before)
    while desk.desk.edits.can[0]:
        assert desk.post("/undo", {"mark": desk.desk.edits.mark}).status == 200
    assert text_of(desk) == before


def test_a_new_table_that_would_be_faulty_is_told_and_not_written(desk: Served) -> None:
    before = text_of(desk)
    told = desk.post("/farm/add", {"what": "crew", "id": "rowan", "vehicle": "van"}).json
    assert any("is used twice" in line for line in told["faults"])
    assert any("has no earliest_start" in line for line in told["faults"])
    told = desk.post("/farm/drop", {"key": '["crew", "rowan"]'}).json
    assert told["faults"]
    assert text_of(desk) == before


def test_what_changed_on_disk_meanwhile_is_shown_beside_and_never_written_over(desk: Served, browser: Browser) -> None:
    file = desk.desk.folder / FILE
    with desk.opened(browser) as opened:
        page = opened.page("/farm")
        file.write_text(text_of(desk).replace("people = 1", "people = 3") + "# mine\n", encoding="utf-8")
        before = text_of(desk)
        change(page, "people of Rowan", "2")
        page.locator("#set-both").wait_for()
        assert page.locator("#set-both").inner_text().endswith("It was 1; in the file now: 3; here: 2.")
        assert violations_in(page, "#set") == {}
        assert text_of(desk) == before
        page.get_by_role("button", name="Write it").click()
        page.get_by_text("Written to farm.toml: Rowan: people.").wait_for()
        assert text_of(desk) == before.replace("people = 3", "people = 2")
        file.write_text(text_of(desk) + "# and mine\n", encoding="utf-8")
        assert desk.post("/undo", {"mark": desk.desk.edits.mark}).status == 422
    assert text_of(desk).endswith("# mine\n# and mine\n")


def change(page: Page, name: str, text: str) -> None:
    page.get_by_role("button", name=f"Change {name}", exact=False).first.press("Enter")
    page.locator("#set-text").fill(text)
    page.keyboard.press("Enter")


@pytest.mark.parametrize("width", [360, 1280])
def test_by_keyboard_alone_a_fault_stands_at_the_field_and_the_focus_comes_back(
    desk: Served, browser: Browser, width: int
) -> None:
    with desk.opened(browser, width) as opened:
        page = opened.page("/farm")
        change(page, "payload kg of Van", "heavy")
        page.locator("#set-faults li").wait_for()
        assert "is not a number" in page.locator("#set-faults").inner_text()
        assert page.locator("#set-text").get_attribute("aria-invalid") == "true"
        assert page.evaluate("document.activeElement.id") == "set-text"
        assert violations_in(page, "#set") == {}
        page.locator("#set-text").fill("450")
        page.keyboard.press("Enter")
        page.get_by_text("Written to farm.toml: Van: payload kg.").wait_for()
        focused = page.evaluate("document.activeElement.getAttribute('aria-label')")
        assert focused == "Change payload kg of Van, now 450"
        page.get_by_role("button", name="Change drives as of Van").press("Enter")
        page.locator("#set-choice").select_option("4x4")
        page.get_by_role("button", name="Write it").press("Enter")
        page.get_by_text("Van: drives as.").wait_for()
        page.get_by_role("button", name="Change home by of Rowan").press("Enter")
        assert page.get_by_role("button", name="Take it out of farm.toml").count() == 0
        page.keyboard.press("Escape")
        page.get_by_text("Add a job kind").click()
        for label, text in (("Short name", "paint"), ("Minutes a visit", "3"), ("Minutes a hive", "2")):
            page.locator("form[data-what=job_kind]").get_by_label(label).fill(text)
        assert violations_in(page, "form[data-what=job_kind]") == {}
        page.get_by_role("button", name="Write this job kind").press("Enter")
        page.get_by_text("A job kind more: paint.").wait_for()
        page.get_by_role("button", name="Undo in the files: A job kind more: paint").press("Enter")
        page.get_by_text("Undone: A job kind more: paint").wait_for()
        assert page.evaluate("document.documentElement.scrollWidth") <= width


HOSTILE = "<img src=x onerror=alert(1)>'\"{{7*7}}</script>"


def test_hostile_names_in_every_text_are_text(desk: Served, browser: Browser) -> None:
    for way in (
        ("crew", 0, "name"),
        ("vehicle", 0, "name"),
        ("base", "name"),
        ("name",),
        ("job_kind", "fondant", "name"),
    ):
        told = put(desk, way, HOSTILE)
        assert "lines" in told, told
    put(desk, ("rules", "light_margin_minutes"), "31", source=HOSTILE)
    with desk.opened(browser) as opened:
        page = opened.page("/farm")
        page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
        assert page.locator("main").inner_text().count(HOSTILE) >= 6
        assert "49" not in page.locator("h3").first.inner_text()
        page.get_by_role("button", name="Change light margin minutes").press("Enter")
        assert HOSTILE in page.locator("#set-source").inner_text()
        assert page.locator("img").count() == 0
    for text in ("half \ud800", "two\nlines\0", "\x1b[31m"):
        sent = {"key": json.dumps(["crew", 0, "name"]), "text": text, "was": HOSTILE}
        found = desk.post("/farm/set", sent)
        assert found.status == 422 or "faults" in found.json, text


def test_a_full_disk_leaves_what_was_there(desk: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    before, names = text_of(desk), sorted(path.name for path in desk.desk.folder.iterdir())

    def full(*_args: object, **_named: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("routing.desk.files.saving.write_new", full)
    sent = {"key": json.dumps(["crew", 0, "people"]), "text": "2", "was": "1", "whose": "rowan"}
    found = desk.post("/farm/set", sent)
    assert found.status == 422
    assert "No space left on device" in found.json["lines"][0]
    assert desk.post("/farm/add", {"what": "vehicle", "id": "x", "payload_kg": "1", "space_litres": "1"}).status == 422
    assert desk.post("/farm/drop", {"key": '["job_kind", "fondant"]'}).status == 422
    assert text_of(desk) == before
    assert sorted(path.name for path in desk.desk.folder.iterdir()) == names


def test_two_tabs_each_keep_what_the_other_wrote(desk: Served) -> None:
    """Both pages were loaded before either wrote: different values both stand, the same one is shown beside."""
    people = {"key": json.dumps(["crew", 0, "people"]), "was": "1", "whose": "rowan"}
    assert "lines" in desk.post("/farm/set", {**people, "text": "2"}).json
    sent = {"key": json.dumps(["vehicle", 0, "payload_kg"]), "text": "450", "was": "480", "whose": "van"}
    assert "lines" in desk.post("/farm/set", sent).json
    both = desk.post("/farm/set", {**people, "text": "3"}).json["both"]
    assert (both["was"], both["theirs"], both["mine"]) == ("1", "2", "3")
    farm = desk.desk.written_farm()
    assert (farm.crews[0].people, farm.vehicles["van"].payload_kg) == (2, 450)


def test_a_crew_that_another_has_taken_the_place_of_is_not_changed_for_it(desk: Served) -> None:
    """The page shows Rowan first; meanwhile another crew of as many people was put before him."""
    one = field(desk, "crew", 0, "people")
    other = '[[crew]]\nid = "first"\nvehicle = "van"\nearliest_start = "07:15"\nhome_by = "17:30"\n\n'
    before = text_of(desk).replace("[[crew]]", f"{other}[[crew]]", 1)
    (desk.desk.folder / FILE).write_text(before, encoding="utf-8")
    assert field(desk, "crew", 0, "people").value == one.value == "1"
    sent = {"key": one.key, "text": "2", "was": one.value, "whose": one.whose}
    assert desk.post("/farm/set", sent).status == 422
    assert text_of(desk) == before
    put(desk, ("crew", 1, "people"), "2")
    assert text_of(desk) == before.replace("people = 1", "people = 2")
