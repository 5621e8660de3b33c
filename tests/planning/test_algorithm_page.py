"""The pages about the algorithm name modules that there are, and each term with a published source."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PLANNING = ROOT / "routing" / "planning"
PAGE = (ROOT / "docs" / "algorithm.md").read_text(encoding="utf-8")
GLOSSARY = (ROOT / "docs" / "glossary.md").read_text(encoding="utf-8")
TERMS = [line.strip("|").split("|") for line in GLOSSARY.splitlines() if line.startswith("| ")][2:]


@pytest.mark.parametrize("module", sorted(set(re.findall(r"[\w/]+\.py\b", PAGE))))
def test_every_module_that_the_page_names_is_there(module: str) -> None:
    assert (PLANNING / module).is_file(), f"docs/algorithm.md names {module}, which is not in routing/planning/"


def test_every_package_of_planning_is_on_the_page() -> None:
    packages = {each.parent.name for each in PLANNING.glob("*/__init__.py")}
    named = {module.partition("/")[0] for module in re.findall(r"[\w/]+\.py\b", PAGE)}
    assert packages - named <= {"ask", "chance"}  # questions and chances are no engines


@pytest.mark.parametrize("row", TERMS, ids=lambda row: row[0].strip())
def test_every_term_has_one_line_and_a_source_with_author_and_year(row: list[str]) -> None:
    term, meaning, source = (cell.strip() for cell in row)
    assert term
    assert meaning
    assert re.search(r"^[A-Z][\w' ]+.*\b(19|20)\d\d\b", source), f"{term}: {source}"
