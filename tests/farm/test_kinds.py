"""The catalogue that comes with the package, and a farm's own numbers over it."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.farm.folder import read_farm
from routing.farm.kinds import load_catalogue
from routing.farm.models import DriveBand, Figure, LightNeed
from routing.farm.rules import minutes_grow

from .conftest import FaultsOf, Write

YEAR = {
    *("heft", "fondant", "syrup", "insulation", "mouse-guards", "woodpecker-netting", "storm-check", "oxalic"),
    *("first-inspection", "weekly-inspection", "supers-on", "clearer-boards", "supers-off", "strips-in", "strips-out"),
    *("move-hives", "unite", "requeen", "floor-change", "entrance-blocks", "guards-off"),
    *("supers-more", "flumethrin-strips-in", "thymol-in", "thymol-second", "thymol-off", "varroa-boards"),
    *("varroa-count", "disease-inspection", "june-gap-check", "winter-strength", "hornet-watch"),
    *("swarm-control", "queen-cells-check", "laying-check", "queenless-help", "narrow-entrances", "clear-dead"),
    *("set-right", "mouse-repair", "grass-cutting", "water", "landowner-call", "security-check"),
}
OPENED = {key for key in YEAR if key.endswith(("inspection", "-strips-in", "-check"))} - {
    "storm-check",
    "security-check",
}
"""Kinds in which hives are opened and smoked, by the form of their names; others are too."""


def figures() -> Iterator[Figure]:
    """Yield every figure of the catalogue."""
    catalogue = load_catalogue()
    for kind in catalogue.job_kinds.values():
        yield from (kind.minutes_a_visit, kind.minutes_a_hive)
        yield from (use.a_hive for use in (*kind.takes, *kind.brings_back))
    for material in catalogue.materials.values():
        yield from filter(None, (material.kg_each, material.litres_each, material.sold_by))
    rules = catalogue.rules
    yield from (rules.light_margin_minutes, rules.flying_stops_minutes_after_sunset)
    yield from (rules.extra_hands_share, rules.call_in_minutes)


def test_the_catalogue_covers_the_year() -> None:
    """Every job kind of the year is there under its plain name, and no other."""
    assert set(load_catalogue().job_kinds) == YEAR


def test_every_figure_has_a_source() -> None:
    """No number stands without where it came from; what has no source says so and is marked M."""
    for figure in figures():
        assert figure.source.strip()
        assert figure.confidence != "farm"
        if "no source" in figure.source or "from memory" in figure.source:
            assert figure.confidence in {"M", "D"}, figure


def test_temperatures_have_a_source() -> None:
    """Wherever a job kind needs warmth, it says who says so."""
    kinds = load_catalogue().job_kinds.values()
    assert any(kind.min_temperature_c is not None for kind in kinds)
    assert all((kind.min_temperature_c is None) == (not kind.temperature_source) for kind in kinds)


def test_every_kind_warns_of_stings_and_of_its_own_danger() -> None:
    """Stings everywhere; acid and medicine refer to the label, disease to the inspector, moves to straps and law."""
    kinds = load_catalogue().job_kinds
    texts = {key: " ".join(kind.cautions) for key, kind in kinds.items()}
    assert all("anaphylaxis" in text for text in texts.values())
    assert all("Working alone" in texts[key] for key in YEAR if kinds[key].people == 1)
    assert "respirator" in texts["oxalic"]
    assert all("label" in texts[key] and "record" in texts[key] for key in ("oxalic", "strips-in", "strips-out"))
    assert all("bee inspector" in texts[key] for key in ("first-inspection", "weekly-inspection", "unite"))
    assert all("Lifting" in texts[key] for key in ("heft", "fondant", "supers-off", "move-hives"))
    assert all("fires" in texts[key] and "metal box" in texts[key] for key in OPENED | {"strips-in", "supers-off"})
    assert all("label decides" in texts[key] and "withdrawal" in texts[key] for key in ("supers-on", "supers-more"))
    assert "Asian" in texts["hornet-watch"]
    assert "straps" in texts["move-hives"]
    assert "law" in texts["move-hives"]


def test_hives_move_after_flying_stops_with_two_people() -> None:
    """Common practice, no source: hives are closed when bees are home, and are no load for one."""
    kind = load_catalogue().job_kinds["move-hives"]
    assert (kind.light, kind.people) == (LightNeed.AFTER_FLYING, 2)


@pytest.mark.parametrize(
    ("kind", "minutes"),
    [
        ("first-inspection", 10),
        ("weekly-inspection", 10),
        ("syrup", 10),
        ("strips-in", 15),
        ("flumethrin-strips-in", 15),
        ("thymol-in", 15),
        ("swarm-control", 15),
        ("unite", 30),
        ("queenless-help", 30),
    ],
)
def test_minutes_a_hive_are_those_that_are_published(kind: str, minutes: float) -> None:
    """Check 10, feeding 10 a round, treatment 15, split 15, unite or requeen 30, lid off to lid on.

    Source: Bienenzuchtverein Merkstein, Zeit fuer Imkerei, bienenzuchtverein-merkstein.de.
    """
    figure = load_catalogue().job_kinds[kind].minutes_a_hive
    assert (figure.value, figure.confidence) == (minutes, "V2")
    assert "Merkstein" in figure.source


def test_three_miles_are_4_83_km() -> None:
    """3 x 1.609344 km; rounded to less, hives moved between would be called far enough when they are not.

    Source: Bedfordshire BKA, Moving Bees - Good Practice, 2024 (3 miles); the mile of 1959 is 1,609.344 m exactly.
    """
    far = load_catalogue().rules.move_farther_than_km
    assert far is not None
    assert 3 * 1.609344 <= far.value < 3 * 1.609344 + 0.01


def test_emergency_feed_is_the_published_amount() -> None:
    """About 2.5 kg a hive: National Bee Unit note, March 2013; sold in blocks of 12.5 kg."""
    catalogue = load_catalogue()
    (use,) = catalogue.job_kinds["fondant"].takes
    sold_by = catalogue.materials["fondant"].sold_by
    assert (use.material, use.a_hive.value, use.a_hive.confidence) == ("fondant", 2.5, "V")
    assert sold_by is not None
    assert sold_by.value == 12.5


def test_default_drives_grow_with_distance() -> None:
    """The detour falls within 1.6 to 1.3, the speed rises, and farther always takes longer."""
    bands = load_catalogue().rules.drive_bands
    assert (bands[0].detour_factor, bands[-1].detour_factor) == (1.6, 1.3)
    for nearer, farther in itertools.pairwise(bands):
        assert nearer.detour_factor > farther.detour_factor
        assert nearer.speed_kmh < farther.speed_kmh
        assert minutes_grow(nearer, farther)


numbers = st.tuples(
    st.floats(0, 50), st.floats(1, 3), st.floats(10, 90), st.floats(1, 50), st.floats(1, 3), st.floats(10, 90)
)


@given(numbers)
def test_growth_of_minutes_is_judged_rightly(parts: tuple[float, float, float, float, float, float]) -> None:
    """Against a hundred steps between two bands: where growth is promised, no step is downwards."""
    start, detour, speed, span, next_detour, next_speed = parts
    nearer = DriveBand(straight_km=start, detour_factor=detour, speed_kmh=speed)
    farther = DriveBand(straight_km=start + span, detour_factor=next_detour, speed_kmh=next_speed)
    shares = [step / 100 for step in range(101)]
    minutes = [
        (start + span * share) * (detour + (next_detour - detour) * share) / (speed + (next_speed - speed) * share)
        for share in shares
    ]
    grows = all(later > sooner - 1e-9 for sooner, later in itertools.pairwise(minutes))
    if minutes_grow(nearer, farther):
        assert grows


def test_a_farm_changes_one_number(write: Write, farm_toml: str) -> None:
    """A bare number becomes the farm's own figure; what is not named stays as it was."""
    farm = read_farm(write(farm_toml + "[job_kind.fondant]\nminutes_a_hive = 3\ntakes = { fondant = 1.5 }\n"))
    kind, default = farm.job_kinds["fondant"], load_catalogue().job_kinds["fondant"]
    assert kind.minutes_a_hive == Figure(value=3, source="farm.toml", confidence="farm")
    assert [use.a_hive.value for use in kind.takes] == [1.5]
    assert kind.minutes_a_visit == default.minutes_a_visit
    assert kind.cautions == default.cautions


def test_a_farm_adds_its_own_kind_and_material(write: Write, farm_toml: str) -> None:
    """A whole job kind and material of the farm's own, with a source of its own and a caution by its short name."""
    own = """
[material.paint]
unit = "litres"
kg_each = 1.2
litres_each = { value = 1.1, source = "the tin" }
[job_kind.paint]
name = "Paint roofs"
minutes_a_visit = 5
minutes_a_hive = 8
takes = { paint = 0.2 }
light = "Daylight"
min_temperature_c = 8
cautions = ["stings", "Fumes: read the tin."]
"""
    farm = read_farm(write(farm_toml + own, jobs="site,kind\none,Paint roofs\n"))
    kind = farm.job_kinds["paint"]
    assert farm.jobs[0].kind == "paint"
    assert farm.materials["paint"].litres_each == Figure(value=1.1, source="the tin", confidence="farm")
    assert (kind.min_temperature_c, kind.temperature_source) == (8, "farm.toml")
    assert "anaphylaxis" in kind.cautions[0]
    assert kind.cautions[1] == "Fumes: read the tin."


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (
            "[job_kind.fondnat]\nminutes_a_hive = 3\n",
            'farm.toml:14: [job_kind.fondnat] is a new one and has no minutes_a_visit; did you mean "fondant"?',
        ),
        (
            "[job_kind.fondant]\nminutes_per_hive = 3\n",
            'farm.toml:15: [job_kind.fondant] has a key "minutes_per_hive" that is not known; did you mean "minutes_a_hive"?',
        ),
        (
            '[job_kind.fondant]\nminutes_a_hive = "3"\n',
            'farm.toml:15: [job_kind.fondant] minutes_a_hive "3" is not a number: write digits with a decimal point and no quotes',
        ),
        (
            "[job_kind.fondant]\nminutes_a_hive = -3\n",
            "farm.toml:15: [job_kind.fondant] minutes_a_hive -3 must be from 0 to 1,440",
        ),
        (
            "[job_kind.fondant]\nminutes_a_hive = inf\n",
            "farm.toml:15: [job_kind.fondant] minutes_a_hive inf must be from 0 to 1,440",
        ),
        (
            "[job_kind.fondant]\ntakes = { fondnat = 3 }\n",
            'farm.toml:15: [job_kind.fondant.takes] names no known material: "fondnat"; did you mean "fondant"?',
        ),
        (
            '[job_kind.fondant]\nlight = "dusk"\n',
            'farm.toml:15: [job_kind.fondant] light "dusk" is not one of daylight, twilight will do, any, after flying stops',
        ),
        (
            "[material.fondant]\nkg_each = 2\n",
            "farm.toml:15: [material.fondant] kg_each must be 1 where the unit is kg",
        ),
        ("[material.fondant]\nsold_by = 0\n", "farm.toml:15: [material.fondant] sold_by must be above 0"),
        ("[stock]\nfondnat = 3\n", 'farm.toml:15: [stock] names no known material: "fondnat"; did you mean "fondant"?'),
        ("[rules]\nextra_hands_share = 2\n", "farm.toml:15: [rules] extra_hands_share 2 must be from 0 to 1"),
        ("[rules]\ncall_in_minutes = 0\n", "farm.toml:15: [rules] call_in_minutes must be at least 1"),
        ('[rules]\nunits = "yards"\n', 'farm.toml:15: [rules] units "yards" is neither km nor miles'),
        (
            """[rules]\ndrive_bands = [
                { straight_km = 1, detour_factor = 1.5, speed_kmh = 20 },
                { straight_km = 2, detour_factor = 1.3, speed_kmh = 60 },
            ]\n""",
            "farm.toml:15: [rules] drive_bands make a farther place quicker to reach than a nearer one",
        ),
    ],
)
def test_slips_in_own_numbers(faults_of: FaultsOf, farm_toml: str, text: str, fault: str) -> None:
    """Each slip is one fault with its line, what is wrong and what was probably meant."""
    assert faults_of(farm=farm_toml + text) == [fault]


def test_rules_of_the_farm(write: Write, farm_toml: str) -> None:
    """Rules that are named change, with the farm as their source; the others keep theirs."""
    farm = read_farm(write(farm_toml + '[rules]\nlight_margin_minutes = 10\nunits = "km"\ndrive_factor = 1.2\n'))
    assert farm.rules.light_margin_minutes == Figure(value=10, source="farm.toml", confidence="farm")
    assert (farm.rules.units, farm.rules.drive_factor) == ("km", 1.2)
    assert farm.rules.drive_bands == load_catalogue().rules.drive_bands
