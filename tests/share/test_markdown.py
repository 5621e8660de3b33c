"""The Markdown is read back by a CommonMark reader that lets HTML through: nothing of a name comes alive."""

import re
from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from routing.share.exports.markdown import markdown_text, round_markdown
from routing.share.safety.safe import plain_text
from tests.share.sample import SEEN, hostile_round, sample_round


class Reader(HTMLParser):
    """Collects the tags and the text of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        assert not attrs

    def handle_data(self, data: str) -> None:
        self.text += data


def rendered(text: str) -> Reader:
    reader = Reader()
    reader.feed(MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"]).render(text))
    reader.close()
    return reader


OURS = {"h1", "h2", "h3", "p", "ul", "li", "strong", "table", "thead", "tbody", "tr", "th", "td", "br"}


@given(st.text(st.characters(codec="utf-8"), min_size=1, max_size=60).map(plain_text).filter(bool))
def test_any_text_shows_its_own_characters_in_a_list_and_a_table(text: str) -> None:
    listed = rendered(f"- {markdown_text(text)}")
    assert listed.tags == {"ul", "li"}
    assert listed.text.strip() == text
    table = rendered(f"| a |\n| --- |\n| {markdown_text(text)} |")
    assert table.tags == {"table", "thead", "tbody", "tr", "th", "td"}
    assert re.sub(r"^a\s*", "", table.text.strip()) == text


def test_the_hostile_round_is_inert_and_readable() -> None:
    reader = rendered(round_markdown(hostile_round()))
    assert reader.tags == OURS
    assert SEEN in reader.text
    assert "[red]|*x*" in reader.text


def test_no_address_is_left_that_a_reader_would_turn_into_a_link() -> None:
    # Source: GitHub Flavored Markdown, 6.9 Autolinks: "www." and "http://" are recognised as they stand.
    text = round_markdown(hostile_round())
    assert "www.bad" not in text
    assert "http://bad" not in text


@pytest.mark.parametrize(
    "words",
    [
        "Mill Bank",
        "6 h 29",
        "182.6 kg",
        "16 \N{MULTIPLICATION SIGN} box of 12.5 kg",
        "no vehicle",
        "Respirator on",
        "9 min more away",
    ],
)
def test_the_round_is_all_there(words: str) -> None:
    assert words in rendered(round_markdown(sample_round())).text


def test_every_table_row_has_the_cells_of_its_head() -> None:
    text = round_markdown(sample_round()).replace("\\|", "")
    for table in re.findall(r"(?:^\|.*\n)+", text, re.MULTILINE):
        assert len({line.count("|") for line in table.splitlines()}) == 1
    assert text.endswith("\n")
