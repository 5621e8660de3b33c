"""Colours of all pages stand in one file, and can be read: in a bright field, in the dark, and on paper.

Source: WCAG 2.2, success criteria 1.4.3 (4.5 to 1), 1.4.6 (7 to 1), 1.4.11 (3 to 1), and its definition of contrast ratio.
"""

from __future__ import annotations

import re
from importlib import resources

import pytest

from routing.share.pages.inline import template_text
from tests.share.browser import luminance

COLOUR = re.compile(r"#[0-9a-f]{8}\b|#[0-9a-f]{6}\b|#[0-9a-f]{3}\b|\b(?:rgb|hsl)a?\(", re.IGNORECASE)
FILES = [
    file
    for package, folders in (("routing.share", ["templates"]), ("routing.desk", ["templates", "static"]))
    for folder in folders
    for file in resources.files(package).joinpath(folder).iterdir()
    if file.name.endswith((".css", ".js", ".svg", ".html"))
]


def schemes() -> dict[str, dict[str, str]]:
    """Return every token of each scheme, those of dark and paper laid over those of light."""
    text = re.sub(r"/\*.*?\*/", "", template_text("tokens.css"), flags=re.DOTALL)
    blocks = [dict(re.findall(r"(--[\w-]+):\s*([^;]+);", block)) for block in re.findall(r":root \{([^}]*)\}", text)]
    light, dark, paper = blocks
    return {"light": light, "dark": light | dark, "paper": light | paper}


def contrast(one: str, other: str) -> float:
    light, dark = sorted(luminance(f"rgb({', '.join(map(str, bytes.fromhex(each[1:])))})") for each in (one, other))[
        ::-1
    ]
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_no_file_but_one_names_a_colour(file: resources.abc.Traversable) -> None:
    found = COLOUR.findall(
        re.sub(r"""(?:href|url)=?\(?["']?#[\w-]+|["'`]#[\w-]+""", "", file.read_text(encoding="utf-8"))
    )
    assert (file.name == "tokens.css") == bool(found), found


def test_every_token_that_is_used_is_given_and_every_one_that_is_given_is_used() -> None:
    texts = "".join(file.read_text(encoding="utf-8") for file in FILES)
    used = set(re.findall(r"var\((--[\w-]+)", texts))
    given = set(schemes()["light"])
    drawn = {name for name in given if name.startswith(("--land-", "--printed-"))}  # a map's script reads these by kind
    assert used - given == {"--shape"}  # of one drawing, told by the map itself
    assert given - used - drawn == set()


@pytest.mark.parametrize("scheme", ["light", "dark", "paper"])
def test_words_and_edges_stand_out(scheme: str) -> None:
    """Ink on paper with 7 to 1 and more, for a screen in the sun; other words with 4.5, marks and edges of fields with 3."""
    token = schemes()[scheme]
    for back in ("--paper", "--panel"):
        assert contrast(token["--ink"], token[back]) >= 7
        for words in ("--soft", "--accent", "--trouble"):
            assert contrast(token[words], token[back]) >= 4.5, (words, back)
    for words, back in (("--on-solid", "--solid"), ("--on-alarm", "--alarm"), ("--on-accent", "--accent")):
        assert contrast(token[words], token[back]) >= 4.5, (words, back)
    for number in range(5):
        assert contrast(token[f"--way-{number}"], token["--ground"]) >= 3
