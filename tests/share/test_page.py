"""The page for print and screen: whole, plain in structure, and no name comes alive in it."""

import base64
import hashlib

import pytest

from routing.round import Chance
from routing.share.pages.page import round_page
from tests.share.html_reader import Page
from tests.share.sample import SEEN, alder, hostile_round, sample_round


def sha256(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def test_the_page_may_load_nothing_and_run_nothing() -> None:
    page = Page(round_page(sample_round()))
    assert page.count("script") == 0
    assert page.policy().startswith("default-src 'none'")
    assert f"style-src 'sha256-{sha256(page.styles[0])}'" in page.policy()
    assert "unsafe" not in page.policy()
    for _, attributes in page.tags:
        assert not {"src", "href", "style", "onclick", "onerror"} & set(attributes)


def test_language_title_headings_and_scopes_are_set() -> None:
    html = round_page(sample_round())
    page = Page(html)
    assert html.startswith("<!DOCTYPE html>\n")
    assert ("html", {"lang": "en-GB"}) in page.tags
    assert page.count("title") == page.count("h1") == page.count("main") == 1
    assert all(attributes.get("scope") in {"row", "col"} for tag, attributes in page.tags if tag == "th")
    assert page.count("table") == page.count("caption") == 6  # for each crew: itinerary, load, comes back


@pytest.mark.parametrize(
    "words",
    [
        *("Mill Bank", "08:21", "6 h 29", "182.6 kg", "16 \N{MULTIPLICATION SIGN} box of 12.5 kg", "estimate"),
        *(
            "Far Moor",
            "no vehicle",
            "It would fit with",
            "How good this round is",
            "Even days: 9 min more away.",
            "Respirator on.",
            "call 999",
        ),
        "on the way or at Church Orchard",
    ],
)
def test_everything_of_the_round_is_there(words: str) -> None:
    assert words in Page(round_page(sample_round())).text


def test_hostile_text_makes_no_element_and_can_be_read() -> None:
    calm, hostile = Page(round_page(sample_round(cautions=("x",)))), Page(round_page(hostile_round()))
    kinds = {tag for tag, _ in calm.tags}
    assert {tag for tag, _ in hostile.tags} == kinds
    assert hostile.count("script") == hostile.count("img") == 0
    assert SEEN in hostile.text


def test_the_same_round_gives_the_same_bytes() -> None:
    assert round_page(sample_round()) == round_page(sample_round())


def test_a_round_of_one_crew_and_one_of_none_have_a_page() -> None:
    one = Page(round_page(sample_round(itineraries=(alder(),), left_out=())))
    assert "every job that is due is planned" in one.text
    assert "Left out" not in one.text
    none = Page(round_page(sample_round(itineraries=())))
    assert none.count("table") == 0
    assert "Far Moor" in none.text


def test_what_would_make_the_day_hold_is_on_paper_too() -> None:
    """The screen and the Markdown told it, the page did not."""
    chance = Chance(days=10, musts=0.5, whole=0.5, text="On half.", remedies=("Leaving out Elm, 9 of 10 would hold.",))
    text = round_page(sample_round(chance=chance))
    assert text.count("Leaving out Elm, 9 of 10 would hold.") == 1
