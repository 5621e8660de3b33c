"""What is hidden by which rule: the farmer's words, the program's, the catalogue's, and names that hold another's."""

from pathlib import Path

import pytest

from routing.farm.folder import read_farm
from routing.farm.kinds import load_catalogue
from routing.farm.models import Farm
from routing.round import Round, StoppingPlace
from routing.share.safety.nicknames import nicknames
from routing.share.safety.plan_key import round_key
from routing.share.safety.private import share
from routing.share.wording.helper_sheet import page_names
from routing.travel.background import Background, PlaceName
from tests.hostile_names import Named, hostile, round_of, write
from tests.share.nicknamed import nicknamed
from tests.share.sample import sample_round


def renamed(**names: str) -> Round:
    """Return the sample round with other names for some of its sites, by the first word of the old ones."""
    text = sample_round().model_dump_json()
    for old in ("Mill Bank", "Long Meadow", "Church Orchard"):
        text = text.replace(old, names.get(old.split()[0].lower(), old))
    return Round.model_validate_json(text)


def with_stop(round_: Round, **fields: object) -> Round:
    """Return the round with other fields at its first stop."""
    day = round_.itineraries[0]
    stops = (day.stops[0].model_copy(update=fields), *day.stops[1:])
    return round_.model_copy(update={"itineraries": (day.model_copy(update={"stops": stops}), *round_.itineraries[1:])})


def test_an_oak_stays_an_oak_in_the_programs_words_and_no_form_stays_in_the_farmers() -> None:
    said = ('Oak is left out, like every oak before it; see "key at oak".',)
    told = with_stop(renamed(mill="Oak"), notes="Under the oak at Oaks' gate").model_copy(update={"estimates": said})
    hidden = nicknamed(told)
    assert hidden.estimates == ('Site F is left out, like every oak before it; see "key at Site F".',)
    assert hidden.itineraries[0].stops[0].notes == "Under the Site F at Site F gate"


def test_the_advice_of_the_catalogue_is_never_touched() -> None:
    """A site is called after a word of the usual caution on lifting: it is told as it is, on every farm alike."""
    lifting = load_catalogue().cautions["lifting"]
    word = next(word for word in lifting.split() if word.isalpha() and len(word) > 3)
    told = renamed(mill=word.capitalize())
    jobs = tuple(job.model_copy(update={"cautions": (lifting,)}) for job in told.itineraries[0].stops[0].jobs)
    hidden = nicknamed(with_stop(told, jobs=jobs))
    assert hidden.itineraries[0].stops[0].jobs[0].cautions == (lifting,)
    assert hidden.itineraries[0].stops[0].name == "Site F"


def test_a_part_says_how_many_of_how_many_though_a_site_is_called_so() -> None:
    told = renamed(mill="Hives", long="Part")
    job = told.itineraries[0].stops[0].jobs[0]
    noted = job.model_copy(update={"id": "jobs.csv:7 part 1 of 2", "note": "part 1 of 2, 9 hives in all; by the part"})
    hidden = nicknamed(with_stop(told, jobs=(noted,))).itineraries[0].stops[0].jobs[0]
    assert (hidden.id, hidden.note) == ("jobs.csv:7 part 1 of 2", "part 1 of 2, 9 hives in all; by the Site E")


def test_what_holds_a_name_and_is_no_site_gets_a_neutral_word() -> None:
    """A nickname there would tell whoever knows the crew or the yard how the site is called."""
    road = StoppingPlace(latitude=52.7, longitude=-2.9, road="Rowan Lane")
    told = with_stop(renamed(mill="Rowan"), stopping_place=road)
    told = told.model_copy(update={"farm": "Rowan Bees", "base_name": "Rowan's Yard"})
    hidden = nicknamed(told)
    place = hidden.itineraries[0].stops[0].stopping_place
    assert place is not None
    assert (hidden.farm, hidden.base_name, place.road) == ("The farm", "Base", "a road")
    assert (hidden.itineraries[1].crew, hidden.itineraries[1].crew_name) == ("crew-2-of-2", "Crew 2")
    assert (hidden.itineraries[0].crew, hidden.itineraries[0].crew_name) == ("alder", "Alder")
    assert page_names(hidden) == ("2024-12-18-alder.html", "2024-12-18-crew-2-of-2.html")


def test_a_site_that_is_truly_called_site_a_gets_a_nickname_that_no_site_has() -> None:
    assert nicknames(renamed(mill="Site B"))["ash lane"] == "Place A"
    assert nicknames(renamed(mill="B"))["ash lane"] == "Site 1"


@pytest.fixture
def named() -> Named:
    return hostile(3)


@pytest.fixture
def farm(named: Named, tmp_path: Path) -> Farm:
    return read_farm(write(named, tmp_path / "farm"))


def test_names_of_places_on_the_map_are_left_away_where_they_hold_one(named: Named, farm: Farm) -> None:
    places = (PlaceName(f"Upper {named.names[4]}", 52.6, -2.9, 1), PlaceName("Quernmore", 52.7, -2.9, 0))
    roads = Background({"main": ("??",)}, places, "\u00a9 someone")
    drawn = share(round_of(named), farm, nicknames=True).roads(roads)
    assert drawn == Background({"main": ("??",)}, places[1:], "\u00a9 someone")
    assert share(round_of(named), farm).roads(roads) == roads
    assert share(round_of(named), farm, nicknames=True).roads(None) is None


def test_a_plan_keeps_its_key_and_the_key_depends_on_no_sites_id(named: Named, farm: Farm) -> None:
    """Else whoever has the page could try names until one gives the key: a job's id ends in its site's."""
    true = round_of(named)
    hidden = share(true, farm, nicknames=True).round
    assert [round_key(day) for day in hidden.itineraries] == [round_key(day) for day in true.itineraries]
    before, after = (
        true.itineraries[1].model_validate_json(
            true.itineraries[1].model_dump_json().replace(f":{old} part", f":{new} part")
        )
        for old, new in (("", ""), (true.itineraries[1].stops[0].site, "elsewhere"))
    )
    assert before.stops[0].jobs[0].id != after.stops[0].jobs[0].id
    assert round_key(before) == round_key(after)
