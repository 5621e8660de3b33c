"""QR codes are read by another program and bring nothing else into the page."""

import re

import geouri
import numpy as np
import pytest
import zxingcpp
from lxml import etree
from numpy.typing import NDArray

from routing.share.pages.qr import place_code
from routing.share.safety.safe import plain_name
from tests.share.hostile import TEXTS

PIXELS = 6


def picture(svg: str) -> NDArray[np.uint8]:
    """Draw the code's dark runs as an image: moves and horizontal runs are all that its path holds."""
    tree = etree.fromstring(svg)
    size = int(tree.get("viewBox", "").split()[2])
    pixels = np.full((size, size), 255, np.uint8)
    across = down = 0.0
    dark = tree.findall("path")[1]
    for letter, arguments in re.findall(r"([Mmh])([-\d. ]+)", dark.get("d", "")):
        numbers = [float(each) for each in re.findall(r"-?[\d.]+", arguments)]
        if letter == "h":
            pixels[int(down), int(across) : int(across + numbers[0])] = 0
            across += numbers[0]
        elif letter == "M":
            across, down = numbers
        else:
            across, down = across + numbers[0], down + numbers[1]
    return np.kron(pixels, np.ones((PIXELS, PIXELS), np.uint8))


def read(svg: str) -> str:
    found = zxingcpp.read_barcodes(picture(svg))
    assert len(found) == 1
    assert "QR" in str(found[0].format)
    return found[0].text


def test_a_reader_finds_the_place() -> None:
    text = read(place_code(52.2205, -2.9105, "Drover's Mill"))
    assert text == "geo:52.2205,-2.9105"
    assert geouri.parse(text) == geouri.parse("geo:52.22050,-2.91050")


@pytest.mark.parametrize("text", [text for text, _ in TEXTS.values()])
def test_a_hostile_name_is_inert_and_the_place_readable(text: str) -> None:
    svg = place_code(52.2205, -2.9105, text)
    tree = etree.fromstring(svg)
    assert [each.tag for each in tree.iter()] == ["svg", "title", "path", "path"]
    assert tree.findtext("title") == f"QR code with the position of {plain_name(text)}"
    assert read(svg) == "geo:52.2205,-2.9105"


def test_the_code_is_named_and_black_on_white_whatever_the_page() -> None:
    tree = etree.fromstring(place_code(52.2205, -2.9105, "Mill <Bank>"))
    assert tree.get("role") == "img"
    assert tree.findtext("title") == "QR code with the position of Mill <Bank>"
    assert [tree.findall("path")[0].get("fill"), tree.findall("path")[1].get("stroke")] == ["#fff", "#000"]
    assert not set(tree.attrib) & {"style", "onload"}


def test_the_same_place_gives_the_same_bytes() -> None:
    assert place_code(52.2, -2.9, "x") == place_code(52.2, -2.9, "x")
