"""Dates on the command line take the forms that the tables take, by the farm's country, and none is guessed."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import openpyxl
import pytest
from typer.testing import CliRunner

from routing.cli.app import app
from routing.cli.options import date_of
from routing.errors import AskedError
from tests.farm.books import whole_farm

TENTH = dt.date(2026, 12, 10)


@pytest.mark.parametrize(
    "text", ["2026-12-10", "10.12.2026", "10/12/2026", "10-Dec-26", "10/12/2026 00:00", "20261210"]
)
def test_a_date_is_asked_for_in_any_common_form(text: str) -> None:
    farm = whole_farm(1).model_copy(update={"time_zone": "Europe/London"})
    assert date_of(text, farm) == TENTH


def test_a_date_that_may_be_two_is_asked_about_by_the_name_of_its_option() -> None:
    farm = whole_farm(1).model_copy(update={"time_zone": "America/Toronto"})
    with pytest.raises(AskedError, match='--before "03/04/2026" may be 2026-03-04 or 2026-04-03: write the one'):
        date_of("03/04/2026", farm, "--before")
    with pytest.raises(AskedError, match='--on "soon" is not a date; write YYYY-MM-DD'):
        date_of("soon", farm)


def test_a_workbook_in_and_a_workbook_out(tmp_path: Path) -> None:
    """From an empty folder to the round as a workbook that another reader opens; not over the farm's own tables."""
    run = CliRunner().invoke
    farm, out = tmp_path / "farm", tmp_path / "round.xlsx"
    assert run(app, ["new", str(farm), "--xlsx"]).exit_code == 0
    shared = run(app, ["share", str(farm), "--on", "10.12.2026", "--xlsx", str(out)])
    assert (shared.exit_code, shared.stdout.strip()) == (0, str(out))
    titles = openpyxl.load_workbook(out).sheetnames
    assert (titles[0], titles[-1], len(titles)) == ("Round", "Left out", 3)
    first = out.read_bytes()
    assert run(app, ["share", str(farm), "--on", "10.12.2026", "--xlsx", str(out)]).exit_code == 0
    assert out.read_bytes() == first
    for name in ("farm.xlsx", "sites.xlsx"):
        assert run(app, ["share", str(farm), "--on", "10.12.2026", "--xlsx", str(farm / name)]).exit_code == 2
