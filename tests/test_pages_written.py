"""`plan` writes a page for each crew beside the round as a whole, and keeps secrets out of it unless told otherwise."""

import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from routing.cli.app import app

DAY = "2026-12-10"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copytree("examples/four-sites", tmp_path / "farm")
    sites = tmp_path / "farm" / "sites.csv"
    head, first, *rest = sites.read_text(encoding="utf-8").splitlines()
    lines = [f"{head},gate_code", f"{first},K9-4471", *(f"{line}," for line in rest)]
    sites.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return tmp_path / "farm"


def test_each_crew_has_a_page_and_secrets_are_in_it_only_when_asked_for(folder: Path) -> None:
    run = CliRunner()
    for options, private, named in (((), False, True), (("--with-private", "--nicknames"), True, False)):
        result = run.invoke(app, ["plan", str(folder), "--on", DAY, *options])
        assert result.exit_code == 0, result.output
        written = folder / "rounds" / DAY
        pages = sorted(path.name for path in written.glob(f"{DAY}-*.html"))
        assert len(pages) == 1
        assert {"round.json", "round.md", "round.html", "map.html"} < {path.name for path in written.iterdir()}
        text = (written / pages[0]).read_text(encoding="utf-8")
        assert ("K9-4471" in text) is private
        assert ("Site A" in text) is not named
        assert "K9-4471" not in (written / "round.json").read_text(encoding="utf-8")


def test_a_report_is_told_and_faults_give_exit_code_two(folder: Path, tmp_path: Path) -> None:
    run = CliRunner()
    bad = tmp_path / "bad.txt"
    bad.write_text("what-i-did: 1\nsite: x\n", encoding="utf-8")
    result = run.invoke(app, ["done", str(folder), str(bad)])
    assert result.exit_code == 2
    assert "bad.txt:2: the line crew is missing before the first site" in result.output
