"""What is proved, in words that a tired reader takes in at once."""

import datetime as dt
from pathlib import Path

from routing.farm.folder import read_farm
from routing.stages import plan as plan_stage

EXAMPLES = Path(__file__).parents[2] / "examples"


def test_one_person_s_days_are_called_days_and_what_was_compared_stands_in_brackets() -> None:
    """Two days of one person: "each crew's own day" reads as if there were several crews."""
    first = dt.date(2026, 12, 10)
    dates = tuple(first + dt.timedelta(days=number) for number in range(3))
    text = plan_stage.plan(read_farm(EXAMPLES / "hollin-vale"), *dates).proof.text
    assert "crew" not in text
    assert (
        "No round of the same jobs (one stop at a site, no job is later than it must be) is away for less than" in text
    )
    assert text.endswith("Each day by itself is proven best for its sites, of days with one stop at a site.")
