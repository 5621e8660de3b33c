"""The good round of the invented farm, with every optional part of a round filled in."""

from __future__ import annotations

from functools import cache

from routing.round import Chance, EvenDays, Proof, Remedy, RemedyKind, Round, SurestOrder
from tests.check.naive_round import naive_round
from tests.check.small_farm import FARM, LEFT, LEGS, ORDERS, WEDNESDAY

BY_RANK = (0, 7 + 2 + 7, 7 + 7 + 7 + 7, 7)
"""What the planned jobs weigh: of the musts hill is two days overdue, one job is for when somebody passes, and none is for now."""


@cache
def good_round() -> Round:
    """Return the good round; it is frozen, so one serves all tests."""
    plain = naive_round(FARM, LEGS, WEDNESDAY, ORDERS, LEFT)
    remedy = Remedy(kind=RemedyKind.LATER_HOME, amount=600, text="Home ten minutes later.")
    left = tuple(entry.model_copy(update={"remedies": (remedy,)}) for entry in plain.left_out)
    longest = max(itinerary.away_seconds for itinerary in plain.itineraries)
    even = EvenDays(
        longest_before_seconds=longest + 600, longest_seconds=longest, extra_seconds=900, text="Ten minutes shorter."
    )
    proof = Proof(
        optimal=True,
        text="Proved on paper.",
        rank_bounds=BY_RANK,
        away_bound_seconds=sum(itinerary.away_seconds for itinerary in plain.itineraries),
    )
    return plain.model_copy(
        update={
            "left_out": left,
            "even": even,
            "chance": Chance(days=10, musts=0.9, whole=0.8, text="Holds.", remedies=("Leave sooner.",)),
            "surest": SurestOrder(
                extra_seconds=60, musts_before=0.8, musts_after=0.9, whole_before=0.7, whole_after=0.8, text="Surer."
            ),
            "proof": proof,
            "cautions": ("Take a phone.",),
            "warnings": ("A warning.",),
            "faults": ("A fault of the program elsewhere.",),
        }
    )
