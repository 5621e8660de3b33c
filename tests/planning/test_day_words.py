"""What is proved, in words that a tired reader takes in at once."""

import datetime as dt
from pathlib import Path

import pytest

from routing.farm.folder import read_farm
from routing.planning.search import closing
from routing.stages import plan as plan_stage

EXAMPLES = Path(__file__).parents[2] / "examples"


DATES = tuple(dt.date(2026, 12, day) for day in (10, 11, 12))


def test_three_days_of_one_person_are_proven_and_said_to_be() -> None:
    text = plan_stage.plan(read_farm(EXAMPLES / "hollin-vale"), *DATES).proof.text
    assert text == (
        "Proven: everything that can be done is done, and no round with one stop at a site and in which no job is later "
        "than it must be takes less time."
    )


def test_one_person_s_days_are_called_days_and_what_was_compared_stands_in_brackets(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Three days of one person, not closed: "each crew's own day" reads as if there were several crews."""
    monkeypatch.setattr(closing, "may_be_closed", lambda *_: False)
    text = plan_stage.plan(read_farm(EXAMPLES / "hollin-vale"), *DATES).proof.text
    assert "crew" not in text
    assert (
        "No round of the same jobs (one stop at a site, no job is later than it must be) is away for less than" in text
    )
    assert text.endswith("Each day by itself is proven best for its sites, of days with one stop at a site.")
