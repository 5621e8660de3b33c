"""Nothing private is in a shared page unless asked for, and a nickname leaves no trace of the site's name."""

from pathlib import Path

import pytest

from routing.farm.folder import read_farm
from routing.round import ReasonCode, Round
from routing.share.pages.helper_page import helper_page
from routing.share.safety.nickname_codes import site_tags
from routing.share.safety.nicknames import Hiding, nicknames
from routing.share.safety.private import SitePrivate, nicknamed_private, private_of, share
from tests.share.html_reader import Page
from tests.share.nicknamed import nicknamed
from tests.share.sample import left_out, sample_round, stop

SITES = 'id,name,place,hives,gate_code,phone,private_notes\nmill bank,Mill Bank,"52.71, -2.93",12,C4471X,01234 567890,Dog by night\nash,Ash,"52.5, -2.7",3,,,\n'
SECRETS = ("C4471X", "01234 567890", "Dog by night")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "sites.csv").write_text(SITES, encoding="utf-8")
    (tmp_path / "jobs.csv").write_text("site,kind\nash,heft\n", encoding="utf-8")
    four = Path("examples/four-sites/farm.toml").read_text(encoding="utf-8")
    (tmp_path / "farm.toml").write_text(four, encoding="utf-8")
    return tmp_path


def test_the_secrets_of_a_farm_are_found(folder: Path) -> None:
    assert private_of(read_farm(folder)) == {"mill bank": SitePrivate(*SECRETS)}


def test_by_default_no_secret_byte_is_in_the_page_and_on_demand_all_are(folder: Path) -> None:
    farm = read_farm(folder)
    default, told = share(sample_round(), farm), share(sample_round(), farm, with_private=True)
    closed, open_ = (helper_page(shared.round, 0, shared.private) for shared in (default, told))
    for secret in SECRETS:
        assert secret not in closed
        assert secret in Page(open_).text
    assert "do not pass it on" not in closed
    assert "do not pass it on" in open_


def test_nicknames_are_letters_in_the_order_of_ids() -> None:
    assert nicknames(sample_round()) == {
        "ash lane": "Site A",
        "church orchard": "Site B",
        "far moor": "Site C",
        "hollow farm": "Site D",
        "long meadow": "Site E",
        "mill bank": "Site F",
        "new croft": "Site G",
        "quarry top": "Site H",
        "upper dingle": "Site I",
    }


def test_no_byte_of_a_sites_name_or_id_is_left_in_the_round_or_the_page() -> None:
    round_ = named_everywhere()
    hidden = nicknamed(round_)
    texts = (hidden.model_dump_json(), helper_page(hidden, 0), helper_page(hidden, 1))
    for site in nicknames(round_):
        for text in texts:
            assert site not in text.casefold()
    assert "Site F" in texts[1]
    assert hidden.itineraries[0].stops[0].notes == "Past Site F, not Site F: ring"
    assert hidden.left_out[1].insertion is not None
    assert hidden.left_out[1].insertion.after == "site-h"


def named_everywhere() -> Round:
    """Return the sample with a site's name in notes, estimates, warnings, cautions and a job's note."""
    whole = sample_round(cautions=("Mill Bank floods.",), warnings=("MILL BANK twice",)).model_dump()
    whole["itineraries"][0]["stops"][0]["notes"] = "Past Mill Bank, not mill bank: ring"
    whole["itineraries"][0]["stops"][1]["jobs"][0]["note"] = "Key from Long Meadow"
    return Round.model_validate(whole)


def test_everything_but_names_stays() -> None:
    before, after = sample_round(), nicknamed(sample_round())
    for old, new in zip(before.itineraries, after.itineraries, strict=True):
        same = {"site", "name", "notes", "jobs"}
        for was, is_ in zip(old.stops, new.stops, strict=True):
            assert was.model_dump(exclude=same) == is_.model_dump(exclude=same)
            assert [job.id for job in was.jobs] == [job.id for job in is_.jobs]
    assert (after.farm, after.base_name, after.time_zone) == (before.farm, before.base_name, before.time_zone)


def test_only_whole_names_are_replaced_and_the_longest_first() -> None:
    stops = (
        stop(1, "Mill", (52.71, -2.93), ("09:00:00", "09:00:00", "09:10:00"), notes="Mill (top), Mill, Millstone"),
        stop(2, "Mill (top)", (52.71, -2.95), ("09:30:00", "09:30:00", "09:40:00")),
    )
    day = sample_round().itineraries[0].model_copy(update={"stops": stops})
    hidden = nicknamed(sample_round(itineraries=(day,), left_out=()))
    assert hidden.itineraries[0].stops[0].notes == "Site B, Site A, Millstone"


def test_with_the_whole_farm_known_other_sites_are_hidden_too_and_letters_stay_from_day_to_day(folder: Path) -> None:
    farm = read_farm(folder)  # of the sites of this farm, Ash is not in the round
    told = sample_round(warnings=('site "ash" is 20 m from site "Mill Bank"', "Key under the mat at Ash. Ashes too."))
    hidden = share(told, farm, nicknames=True).round
    assert hidden.warnings == ('site "Site A" is 20 m from site "Site G"', "Key under the mat at Site A. Ashes too.")
    assert hidden.itineraries[0].stops[0].site == f"site-g.{site_tags(farm.sites)['mill bank']}"
    other_day = sample_round(itineraries=told.itineraries[:1], left_out=())
    others = {site.id: site.name for site in farm.sites}
    everything = dict(others) | {"long meadow": "Long Meadow", "quarry top": "Quarry Top", "hollow farm": "Hollow Farm"}
    assert nicknames(other_day, everything) == nicknames(sample_round(itineraries=(), left_out=()), everything)


def test_after_twenty_six_sites_letters_are_doubled() -> None:
    far = tuple(left_out(f"s{n:02}", (52, -3), ReasonCode.NO_CREW, "x") for n in range(28))
    named = nicknames(sample_round(itineraries=(), left_out=far))
    assert (named["s25"], named["s26"], named["s27"]) == ("Site Z", "Site AA", "Site AB")


def test_secrets_follow_their_site_under_its_nickname() -> None:
    secret = {"mill bank": SitePrivate("1", "2", "Behind Mill Bank"), "elsewhere": SitePrivate("9")}
    assert nicknamed_private(secret, Hiding.of(sample_round(), {})) == {
        "site-f": SitePrivate("1", "2", "Behind Site F")
    }
