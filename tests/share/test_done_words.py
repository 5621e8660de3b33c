"""A report is shown in the farm's words, and what does not match the folder is said."""

import io
import sys
from pathlib import Path

import pytest
from rich.console import Console

from routing.errors import ReportError
from routing.farm.folder import read_farm
from routing.farm.models import Farm
from routing.share.report.done import read_done
from routing.share.report.done_file import read_done_file
from routing.share.report.done_words import print_done, unknown_to
from tests.share.test_done import REPORT


@pytest.fixture(scope="module")
def farm() -> Farm:
    return read_farm(Path("examples/hollin-vale"))


def shown(report: str, farm: Farm) -> list[str]:
    console = Console(file=io.StringIO(), width=100, highlight=False)
    print_done(read_done(report), farm, console)
    assert isinstance(console.file, io.StringIO)
    return [line.rstrip() for line in console.file.getvalue().splitlines()]


def test_it_is_told_by_site_with_the_times_of_the_farms_zone(farm: Farm) -> None:
    summer = REPORT.replace("2026-12-10", "2026-07-10")
    assert shown(summer, farm) == [
        "What rowan did on Friday 10 July 2026",
        "1 job done, 2 left; round 9f69a729d2543a7d",
        "Drover's Mill",
        "  done, ticked 12:09: Feed fondant, 6 hives (jobs.csv:2)",  # 11:09 UTC is 12:09 in British summer time
        "  left: Heft and check stores, 16 hives (jobs.csv:15)",
        "  Note: The gate was locked",
        "Long Stone",
        "  left: Fit top insulation, 10 hives (jobs.csv:11)",
    ]


def test_a_nicknamed_site_is_known_by_its_jobs(farm: Farm) -> None:
    assert "Drover's Mill" in shown(REPORT.replace("site: mill", "site: site-c"), farm)
    assert unknown_to(farm, read_done(REPORT.replace("site: mill", "site: site-c")), "x") == ()


def test_what_the_folder_does_not_hold_is_a_warning(farm: Farm) -> None:
    odd = REPORT.replace("rowan", "elm").replace("jobs.csv:11", "jobs.csv:111")
    warnings = unknown_to(farm, read_done(odd), "sent.txt")
    assert [warning.what for warning in warnings] == [
        'crew "elm" is not in farm.toml',
        "jobs.csv:111 at long stone is not in the farm folder",
    ]
    assert all(warning.warning for warning in warnings)
    assert "  left: not in the farm folder (jobs.csv:111)" in shown(odd, farm)


def test_hostile_text_does_not_reach_the_terminal_alive(farm: Farm) -> None:
    text = "\n".join(shown(REPORT.replace("The gate was locked", "[red]x[/] \x1b[31m\u202ey"), farm))
    assert "[red]x[/]" in text
    assert "\x1b" not in text
    assert "\u202e" not in text


def test_a_report_is_read_from_a_file_or_from_what_is_piped_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "sent.txt").write_text(REPORT, encoding="utf-8")
    assert read_done_file(tmp_path / "sent.txt") == read_done(REPORT)
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(REPORT.encode())))
    assert read_done_file(Path("-")) == read_done(REPORT)


@pytest.mark.parametrize(
    ("content", "told"), [(None, "there is no such file"), (b"\xff\xfea", "UTF-16"), (b"\0", "NUL")]
)
def test_a_file_that_is_no_text_is_told(tmp_path: Path, content: bytes | None, told: str) -> None:
    if content is not None:
        (tmp_path / "sent.txt").write_bytes(content)
    with pytest.raises(ReportError, match=told):
        read_done_file(tmp_path / "sent.txt")
