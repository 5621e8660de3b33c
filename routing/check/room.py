"""Where a day has room for one call more, by the clock and without a break: what has none there fits nowhere.

The break only takes time, and no later departure ends anything sooner; so a call that does not fit between the soonest
end of what is before it and the latest beginning of what is after it fits in no day of these calls in this order. That
takes a sum, where trying each place of each day would take hours for a farm of thousands of sites.
"""

from __future__ import annotations

from dataclasses import dataclass

from routing.check.days import Call, DayPlan


@dataclass(frozen=True)
class Room:
    """The gaps of a day: before its first call, between calls and after the last; instants, shape (calls + 1,)."""

    ready: tuple[int | None, ...]
    """When the place before each gap is left at the soonest, None where it is not come to in time."""
    due: tuple[int | None, ...]
    """When the place after each gap must be reached at the latest, None where it is too late whenever."""

    @classmethod
    def of(cls, plan: DayPlan) -> Room:
        """Return the gaps of a day as it is."""
        ready: list[int | None] = [plan.earliest_leave]
        due: list[int | None] = [plan.home_by]
        for call, drive in zip(plan.calls, plan.drives, strict=False):
            ready.append(_finish(call, ready[-1], drive))
        for call, drive in zip(reversed(plan.calls), reversed(plan.drives), strict=False):
            due.append(_latest(call, due[-1], drive))
        return cls(tuple(ready), tuple(reversed(due)))

    def holds(self, gap: int, call: Call, there: int, back: int) -> bool:
        """Return whether a call fits into a gap, reached and left again by drives of so many seconds."""
        finish, due = _finish(call, self.ready[gap], there), self.due[gap]
        return finish is not None and due is not None and finish + back <= due


def _finish(call: Call, ready: int | None, drive: int) -> int | None:
    """Return the soonest end of a call driven to from a place left at `ready`; None where all spans are over."""
    if ready is None:
        return None
    ends = ((max(ready + drive, opens) + call.seconds, closes) for opens, closes in call.spans)
    return next((end for end, closes in ends if end <= closes), None)


def _latest(call: Call, due: int | None, drive: int) -> int | None:
    """Return the latest coming to a call from which the next place is reached by `due`; None where there is none."""
    if due is None:
        return None
    ends = [(opens, min(closes, due - drive)) for opens, closes in call.spans]
    return max((end - call.seconds for opens, end in ends if opens + call.seconds <= end), default=None)
