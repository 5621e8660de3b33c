"""The map is whole in itself, the same each time, says everything in words too, and no name comes alive in it."""

import hashlib
import os
import re
import subprocess
import sys

import pytest

from routing.share.map.leaflet import leaflet
from routing.share.map.map import round_map
from routing.share.map.map_shapes import DASHES, Point, arrows, bounds_of, grid_lines, grid_step, near
from tests.share.html_reader import Page
from tests.share.sample import SEEN, alder, hostile_round, lefts, rowan, sample_round
from tests.share.test_page import sha256
from tests.together import another_hash_seed


def test_the_map_names_no_file_and_no_host() -> None:
    page = Page(round_map(sample_round()))
    for _, attributes in page.tags:
        assert not {"src", "href", "style", "onclick"} & set(attributes)
    assert "url(" not in page.styles[0]
    assert "@import" not in page.styles[0]
    drawing = page.scripts[1]
    assert "http" not in drawing
    # Leaflet's own text names its home in a comment and in a control that is switched off, and the SVG namespace.
    assert set(re.findall(r"https?://[\w.]+", page.scripts[0])) == {"https://leafletjs.com", "http://www.w3.org"}
    assert '"attributionControl": false' in drawing
    assert "sourceMappingURL" not in page.scripts[0]


def test_the_policy_allows_its_own_two_scripts_and_style_and_no_more() -> None:
    page = Page(round_map(hostile_round()))
    scripts = " ".join(f"'sha256-{sha256(script)}'" for script in page.scripts)
    assert page.policy() == (
        f"default-src 'none'; img-src data:; style-src 'sha256-{sha256(page.styles[0])}'; script-src {scripts}; "
        "base-uri 'none'; form-action 'none'"
    )
    assert len(page.scripts) == 2


def test_no_other_library_than_leaflet_is_in_it() -> None:
    text = round_map(sample_round()).lower()
    for name in ("jquery", "bootstrap", "awesome", "glyphicon", "tilelayer(\n"):
        assert name not in text
    assert "$(" not in Page(round_map(sample_round())).scripts[1]


def test_the_same_round_gives_the_same_bytes_in_another_process() -> None:
    code = (
        "import hashlib; from routing.share.map.map import round_map; from tests.share.sample import hostile_round; "
        "print(hashlib.sha256(round_map(hostile_round()).encode()).hexdigest())"
    )
    env = another_hash_seed() | {"PYTHONPATH": os.pathsep.join(sys.path)}
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=env).stdout
    assert told.strip() == hashlib.sha256(round_map(hostile_round()).encode()).hexdigest()
    assert round_map(sample_round()) == round_map(sample_round())


def test_no_random_name_is_in_the_script() -> None:
    assert not re.search(r"[0-9a-f]{32}", Page(round_map(sample_round())).scripts[1])


def test_hostile_text_makes_no_element_and_cannot_leave_its_string() -> None:
    calm, hostile = Page(round_map(sample_round(cautions=("x",)))), Page(round_map(hostile_round()))
    assert {tag for tag, _ in hostile.tags} == {tag for tag, _ in calm.tags}
    assert hostile.count("script") == 2
    assert hostile.count("img") == 0
    assert SEEN in hostile.text
    drawing = hostile.scripts[1]
    assert "<" not in drawing.replace("<=", "")
    # With every string literal taken out, only the words of the calm drawing are left.
    bare = [re.sub(r'"(?:[^"\\\n]|\\.)*"', '""', page.scripts[1]) for page in (calm, hostile)]
    assert bare[0] == bare[1]


@pytest.mark.parametrize(
    "text", ["x" * 10_000, "\\", '"', "'", "`", "${1}", "</script>", "<!--", "\u2028", "{{1}}{%", "\\u003c"]
)
def test_each_awkward_text_by_itself(text: str) -> None:
    calm, awkward = Page(round_map(sample_round(cautions=("x",)))), Page(round_map(hostile_round(text)))
    # Where all texts are one, two cautions are one and stand once: an item of a list, with its words, less.
    assert [tag for tag, _ in awkward.tags if tag not in {"li", "bdi"}] == [
        tag for tag, _ in calm.tags if tag not in {"li", "bdi"}
    ] or text == "\u2028"
    assert {tag for tag, _ in awkward.tags} == {tag for tag, _ in calm.tags}
    assert "<!--" not in awkward.scripts[1]


def test_braces_in_a_name_are_not_run_as_a_template() -> None:
    """Folium renders its script twice; a name would be code the second time, on the computer that makes the map."""
    page = Page(round_map(hostile_round("Elm {{ 7 * 7 }} {% set x = 1 %} {# gone #}")))
    assert page.text.count("Elm {{ 7 * 7 }} {% set x = 1 %} {# gone #}") > 10
    assert page.scripts[1].count("Elm {{ 7 * 7 }} {% set x = 1 %} {# gone #}") > 10
    assert "Elm 49" not in page.scripts[1]


def test_every_stop_is_in_the_list_in_order_with_its_light() -> None:
    text = Page(round_map(sample_round())).text
    places = [text.index(name) for name in ("Mill Bank", "Long Meadow", "Quarry Top", "Hollow Farm", "Church Orchard")]
    assert places == sorted(places)
    assert "Arrive 12:56, finish 14:29; 1 h 11 of light left" in text
    assert "Straight lines between stops, not roads. Grid lines are the national grid's, 1 km apart" in text
    assert "Left out: no vehicle" in text


def test_crews_differ_by_dash_and_name_too() -> None:
    page = Page(round_map(sample_round()))
    assert "Line on the map: solid." in page.text
    assert "Line on the map: long dashes." in page.text
    assert len(set(DASHES)) == len(DASHES)
    assert '"dashArray": "14 9"' in page.scripts[1]


def test_marks_on_the_map_carry_number_light_and_words() -> None:
    drawing = Page(round_map(sample_round())).scripts[1]
    for words in (r"A1\u003c/span", r"6 h 29 left\u003c", "tag quiet", r"Base\u003c", "bindPopup"):
        assert words in drawing


def test_the_licence_goes_with_the_library() -> None:
    page = Page(round_map(sample_round()))
    # Source: BSD 2-Clause licence, clause 2: notice, conditions and disclaimer go with every copy.
    for words in ("BSD 2-Clause License", "Redistributions in binary form", "AS IS"):
        assert words in page.text
    assert leaflet().version == "1.9.4"


def test_a_round_with_nothing_but_a_base_has_a_map() -> None:
    page = Page(round_map(sample_round(itineraries=(), left_out=())))
    assert "showWholeRound(map_1, [[52.605, -2.955], [52.615, -2.945]]" in page.scripts[1]


def test_points_across_the_date_line_stay_together() -> None:
    base = Point(-17.0, 179.9)
    assert near(base, -17.1, -179.9).longitude == pytest.approx(180.1)
    assert near(Point(60, -179.9), 60, 179.9).longitude == pytest.approx(-180.1)
    assert near(base, -90, 0).latitude == -85.0


def test_grid_lines_are_their_step_apart() -> None:
    base = Point(52.61, -2.95)
    bounds = bounds_of([base, Point(52.85, -3.3)])
    step = grid_step(bounds, "km")
    # 0.25 degrees of latitude are 27.8 km: six squares of 5 km.
    assert (step.metres, step.words) == (5000, "5 km")
    lines = grid_lines(base, bounds, step.metres)
    across = sorted(line[0][0] for line in lines if line[0][0] == line[1][0])
    # One degree of latitude is 111.2 km on the sphere, so 5 km are 0.04497 degrees.
    assert across[1] - across[0] == pytest.approx(5 / 111.195, abs=2e-6)
    assert any(at == pytest.approx(52.61) for at in across)


def test_one_mile_is_singular() -> None:
    assert grid_step(bounds_of([Point(52.6, -3), Point(52.69, -3)]), "miles").words == "1 mile"


def test_arrows_point_the_way_of_travel() -> None:
    here, north, east = Point(52, -3), Point(53, -3), Point(52, -2)
    assert [arrow.turn for arrow in arrows([here, north, here, east, here])] == [0.0, 180.0, 90.0, -90.0]
    assert arrows([here, here]) == []


def test_there_and_back_on_one_line_have_arrows_apart() -> None:
    out, back = arrows([Point(52, -3), Point(53, -3), Point(52, -3)])
    assert abs(out.at.latitude - back.at.latitude) > 0.1


def test_six_crews_take_turns_with_the_line_patterns() -> None:
    crews = (alder(), rowan()) * 3
    six = tuple(day.model_copy(update={"crew": f"c{n}", "crew_name": f"C{n}"}) for n, day in enumerate(crews))
    page = Page(round_map(sample_round(itineraries=six, left_out=lefts())))
    assert page.text.count("Line on the map: solid.") == 2
