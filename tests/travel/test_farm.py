"""The legs of a whole farm."""

from __future__ import annotations

from pathlib import Path

from routing.farm.models import BASE, Base, Farm, KnownDrive
from routing.travel.farm import farm_legs
from routing.travel.leg_origin import LegOrigin
from routing.travel.straight import straight_line_legs
from tests.daylight.builders import place, rules, site


def test_base_comes_first_then_the_sites_in_order_with_known_drives_over_estimates() -> None:
    """The drive from base to the second site is known as 50 min = 3000 s; all else is the straight-line estimate."""
    yard, hill, coast = place(52.0, -2.5), place(52.1, -2.4), place(52.5, -4.0)
    farm = Farm(
        name="Test farm",
        folder=Path("farm"),
        time_zone="Europe/London",
        base=Base(name="Yard", place=yard),
        sites=(
            site(hill).model_copy(update={"id": "hill"}),
            site(coast).model_copy(update={"id": "coast"}),
        ),
        jobs=(),
        job_kinds={},
        materials={},
        vehicles={},
        crews=(),
        rules=rules(),
        known_drives=(KnownDrive(start=BASE, end="coast", minutes=50),),
    )
    legs = farm_legs(farm)
    estimate = straight_line_legs([(BASE, yard), ("hill", hill), ("coast", coast)], farm.rules)
    assert legs.places == (BASE, "hill", "coast")
    assert (legs.seconds[0, 2], legs.seconds[2, 0]) == (3000, 3000)
    assert (legs.metres == estimate.metres).all()
    assert (legs.seconds[0, 1], legs.seconds[1, 2]) == (estimate.seconds[0, 1], estimate.seconds[1, 2])
    assert [legs.origins[0][i] for i in (1, 2)] == [LegOrigin.ESTIMATE, LegOrigin.KNOWN]
