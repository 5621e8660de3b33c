"""A crew's page as a text: what it may load, what is in it, and that it is the same each time."""

import hashlib
import json
import os
import re
import subprocess
import sys

import pytest

from routing.share.map.background import OPENSTREETMAP, Tiles
from routing.share.pages.file_names import slug
from routing.share.pages.helper_page import helper_page, helper_pages
from routing.share.safety.private import SitePrivate
from routing.share.wording.helper_sheet import page_names, round_key
from tests.share.html_reader import Page
from tests.share.nicknamed import nicknamed
from tests.share.sample import alder, hostile_round, job, rowan, sample_round, stop
from tests.share.test_page import sha256
from tests.together import another_hash_seed

ROUND = sample_round()


def test_the_policy_allows_its_own_texts_and_pictures_of_one_host() -> None:
    page = Page(helper_page(hostile_round(), 0))
    data, *scripts = page.scripts
    hashes = " ".join(f"'sha256-{sha256(script)}'" for script in scripts)
    assert page.policy() == (
        "default-src 'none'; img-src data: https://tile.openstreetmap.org; "
        f"style-src 'sha256-{sha256(page.styles[0])}'; script-src {hashes}; "
        "worker-src blob:; base-uri 'none'; form-action 'none'"
    )
    assert json.loads(data)["round"] == round_key(hostile_round().itineraries[0])
    for _, attributes in page.tags:
        assert not {"src", "style", "onclick", "onerror"} & set(attributes)
    links = [str(attributes["href"]) for tag, attributes in page.tags if tag == "a"]
    ours = r"#[\w-]+|geo:-?[\d.]+,-?[\d.]+|https://www\.openstreetmap\.org/copyright"
    assert [link for link in links if not re.fullmatch(ours, link)] == []


def test_the_host_of_the_pictures_is_checked() -> None:
    assert OPENSTREETMAP.host == "https://tile.openstreetmap.org"
    for address in ("http://tiles.example/{z}", "https://{s}.tiles.example/{z}", "https:///x", "javascript:x"):
        with pytest.raises(ValueError, match="not an https address"):
            _ = Tiles(address, "", 18).host


@pytest.mark.parametrize(
    "words",
    [
        *("Alder: Wednesday 18 December 2024", "2 people, White van", "Load from", "07:22"),
        *("16 \N{MULTIPLICATION SIGN} box of 12.5 kg, for 195 kg; weighs 200 kg", "Comes back", "Empty bags"),
        *("Mill Bank", "Feed fondant, 12 hives want 30 min", "Wait 19 min before starting.", "Note: Red roofs only"),
        *("Oxalic treatment, 8 hives must, 3 days overdue", "Take care. Respirator on.", "Break of 20 min here"),
        *("1 h 11", "Drive 25 min (estimate), 8.7 miles to the north", "Last of the day"),
        *("Call 999", "anaphylaxis", "Base: The Yard", "52.71000, -2.93000", "SJ 3726 1288"),
        *(
            "Straight lines between stops, not roads. The line is solid, and thicker on the drive to the next stop.",
            "Drives are estimated from the straight line.",
        ),
        *("BSD 2-Clause License", "It is whole in itself"),
    ],
)
def test_everything_a_helper_needs_is_in_words(words: str) -> None:
    # SJ 3726 1288: E 337265.97 N 312887.73 by pyproj's own datum shift, within 5 m of OSTN15; SJ starts at 300000, 300000.
    text = " ".join(Page(helper_page(ROUND, 0)).text.split())
    assert words in text


def test_it_is_the_page_of_one_crew() -> None:
    first, second = Page(helper_page(ROUND, 0)).text, Page(helper_page(ROUND, 1)).text
    assert "Church Orchard" not in first
    assert "Mill Bank" not in second
    assert "Working alone: call by" not in first
    assert "on the way or at Church Orchard" in second


def test_a_caution_of_most_stops_stands_once_in_full_and_is_named_at_each() -> None:
    lift, burn = "Lifting: share it.", "Acid: gloves."
    stops = tuple(
        stop(number, f"S{number}", (52.6, -2.9), times, jobs=(job(cautions=cautions),))
        for number, times, cautions in (
            (1, ("09:00:00", "09:00:00", "09:10:00"), (lift,)),
            (2, ("09:30:00", "09:30:00", "09:40:00"), (lift,)),
            (3, ("10:00:00", "10:00:00", "10:10:00"), (lift, burn)),
        )
    )
    text = " ".join(
        Page(helper_page(sample_round(itineraries=(alder().model_copy(update={"stops": stops}),)), 0)).text.split()
    )
    assert text.count(lift) == 1
    assert text.count("Take care: Lifting") == 3
    assert "Take care. Acid: gloves." in text


def test_the_same_round_gives_the_same_bytes_in_another_process() -> None:
    code = (
        "import hashlib; from routing.share.pages.helper_page import helper_page; "
        "from tests.share.sample import hostile_round; "
        "print(hashlib.sha256(helper_page(hostile_round(), 0).encode()).hexdigest())"
    )
    env = another_hash_seed() | {"PYTHONPATH": os.pathsep.join(sys.path)}
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=env).stdout
    assert told.strip() == hashlib.sha256(helper_page(hostile_round(), 0).encode()).hexdigest()
    assert helper_page(ROUND, 0) == helper_page(ROUND, 0)


def test_a_page_of_forty_stops_with_long_notes_is_below_a_million_bytes() -> None:
    times = ("09:00:00", "09:00:00", "09:10:00")
    stops = tuple(
        stop(number, f"Site {number}", (52.6, -2.9 + number / 100), times, notes="n" * 2000) for number in range(1, 41)
    )
    day = alder().model_copy(update={"stops": stops})
    assert len(helper_page(sample_round(itineraries=(day,)), 0).encode()) < 1_000_000


def test_hostile_text_makes_no_element_of_its_own() -> None:
    calm, hostile = Page(helper_page(sample_round(cautions=("x",)), 0)), Page(helper_page(hostile_round(), 0))
    assert {tag for tag, _ in hostile.tags} == {tag for tag, _ in calm.tags}
    assert len(hostile.scripts) == len(calm.scripts) == 4
    assert "<" not in hostile.scripts[0]


def test_a_number_that_cannot_be_dialled_has_no_link() -> None:
    text = helper_page(sample_round(emergency_number='112" onclick="x'), 0)
    assert "tel:" not in text
    assert 'href="tel:+44999"' in helper_page(sample_round(emergency_number="+44 (999)"), 0)


def test_a_private_phone_number_can_be_tapped() -> None:
    html = helper_page(
        ROUND, 0, {"mill bank": SitePrivate(phone="01234 (567) 890"), "quarry top": SitePrivate(phone="ask")}
    )
    assert 'href="tel:01234567890"' in html
    assert html.count("tel:") == 2  # that one and the emergency number


def test_file_names_are_safe_and_each_once() -> None:
    days = [
        alder().model_copy(update={"crew": crew}) for crew in ("Ash & Elm", "ash-elm", "../../etc/x", "Ĝardeno", "愛")
    ]
    assert page_names(sample_round(itineraries=tuple(days))) == (
        "2024-12-18-ash-elm.html",
        "2024-12-18-ash-elm.2.html",
        "2024-12-18-etc-x.html",
        "2024-12-18-gardeno.html",
        "2024-12-18-crew.html",
    )
    assert slug("-" * 500) == "crew"
    assert len(slug("x" * 500)) == 40


def test_every_itinerary_has_a_page() -> None:
    pages = helper_pages(sample_round(itineraries=(alder(), rowan())))
    assert list(pages) == ["2024-12-18-alder.html", "2024-12-18-rowan.html"]
    assert helper_pages(sample_round(itineraries=())) == {}


def test_the_key_of_a_plan_changes_with_the_plan_and_not_with_names() -> None:
    key = round_key(alder())
    assert re.fullmatch(r"[0-9a-f]{16}", key)
    assert round_key(nicknamed(ROUND).itineraries[0]) == key
    later = alder().stops[0].model_copy(update={"start": alder().stops[0].finish})
    assert round_key(alder().model_copy(update={"stops": (later, *alder().stops[1:])})) != key
    assert round_key(alder().model_copy(update={"crew": "other"})) != key
