"""The README says what the program does: its commands are run and its tables are held against the code."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from routing import errors
from routing.cli.app import app
from routing.farm.kinds import load_catalogue
from routing.round import ReasonCode
from tests.every_command import every_command

ROOT = Path(__file__).parents[1]
PAGES = (ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md")))
README = "\n".join(page.read_text(encoding="utf-8") for page in PAGES)
"""All that is written for the farmer."""
BLOCKS = list(dict.fromkeys(re.findall(r"```console\n\$ outyard (.*?)\n(.*?)```", README, flags=re.DOTALL)))


def table(heading: str) -> list[str]:
    """Return the first cells of the table under a heading."""
    section = README.split(f"## {heading}\n")[1].split("\n## ")[0]
    cells = [line.split("|")[1].strip().strip("`") for line in section.splitlines() if line.startswith("| ")]
    return cells[2:]


@pytest.mark.parametrize(("command", "shown"), BLOCKS, ids=[block[0] for block in BLOCKS])
def test_a_transcript_is_what_the_command_prints(command: str, shown: str, tmp_path: Path) -> None:
    """Every stretch of a transcript between two `...` stands in the output, in that order."""
    words = command.split()
    copy = tmp_path / Path(words[1]).name
    shutil.copytree(ROOT / words[1], copy, ignore=shutil.ignore_patterns("rounds"))
    result = CliRunner().invoke(app, [words[0], str(copy), *words[2:]], env={"COLUMNS": "80"})
    printed = "\n".join(line.rstrip() for line in result.stdout.splitlines())
    place = 0
    for stretch in shown.strip("\n").split("\n...\n"):
        wanted = stretch.removesuffix("\n...").strip("\n")
        found = printed.find(wanted, place)
        assert found >= 0, f"not printed (any more):\n{wanted}\n\nprinted:\n{printed[place:]}"
        place = found + len(wanted)


def test_there_are_transcripts_of_both_commands() -> None:
    assert {block[0].split()[0] for block in BLOCKS} >= {"fit", "plan", "what-if", "chance"}


def test_the_index_of_reasons_is_that_of_the_code() -> None:
    assert table("Why a visit is left out") == [code.value for code in ReasonCode]


def test_the_index_of_errors_is_that_of_the_code() -> None:
    raised = [
        name
        for name, value in vars(errors).items()
        if isinstance(value, type) and issubclass(value, errors.OutyardError) and value is not errors.OutyardError
    ]
    assert table("When something is wrong") == raised


def test_every_command_is_in_the_readme() -> None:
    assert len(every_command()) > 20
    for words in every_command():
        assert f"outyard {words[0]}" in README


def test_every_number_of_the_catalogue_has_a_source() -> None:
    for kind in load_catalogue().job_kinds.values():
        uses = [use.a_hive for use in (*kind.takes, *kind.brings_back)]
        for figure in (kind.minutes_a_visit, kind.minutes_a_hive, *uses):
            assert figure.source
