"""What was missed in a season that is over never hides the season that is on."""

from __future__ import annotations

from pathlib import Path

from routing.season.due import Asked, State, due_items
from routing.season.entries import Record
from tests.season.small_farm import cancel, day, done, make_farm

LAST_AUTUMN = (
    done("cote", "unite", "2025-06-01"),
    *(done(site, "mouse-guards", "2025-10-20") for site in ("beck", "cote")),
)
"""Guards were fitted at two sites, and missed at Ash Bank."""


def states(folder: Path, on: str, *more: object) -> dict[tuple[str, State], str]:
    """Return the due dates of the guards by site and state."""
    farm = make_farm(folder)
    record = Record(entries=(*LAST_AUTUMN, *more))
    found = due_items(Asked(farm, record, day(on)))
    return {(item.site, item.state): item.due.isoformat() for item in found if item.rule == "mouse-guards"}


def test_guards_missed_last_autumn_are_due_this_autumn(tmp_path: Path) -> None:
    assert states(tmp_path, "2026-10-20") == {
        ("ash", State.SEASON_OVER): "2025-10-24",
        ("ash", State.DUE): "2026-10-24",
        ("beck", State.DUE): "2026-10-24",
        ("cote", State.DUE): "2026-10-24",
    }


def test_fitted_this_autumn_the_old_miss_is_closed_too(tmp_path: Path) -> None:
    fitted = done("ash", "mouse-guards", "2026-10-01")
    assert {site for site, _ in states(tmp_path, "2026-10-20", fitted)} == {"beck", "cote"}


def test_misses_of_several_seasons_are_one_line_and_one_cancelling(tmp_path: Path) -> None:
    """Missed at Ash Bank in 2025, 2026 and 2027; by spring 2028 the line says so, and one cancelling closes all."""
    farm, on = make_farm(tmp_path), day("2028-03-10")
    record = Record(entries=LAST_AUTUMN)
    (missed,) = [
        item for item in due_items(Asked(farm, record, on)) if (item.rule, item.site) == ("mouse-guards", "ash")
    ]
    assert (missed.state, missed.due) == (State.SEASON_OVER, day("2025-10-24"))
    assert missed.why.endswith("and in 2 of the seasons since")
    gone = record.model_copy(update={"cancellations": (cancel(missed, on),)})
    left = due_items(Asked(farm, gone, day("2028-10-20")))
    assert [(item.state, item.due) for item in left if (item.rule, item.site) == ("mouse-guards", "ash")] == [
        (State.DUE, day("2028-10-24"))
    ]


def test_an_inspection_missed_at_the_end_of_a_season_does_not_stop_the_next(tmp_path: Path) -> None:
    """Last on 2 July: 9 July was missed. Next spring begins on 20 April all the same; cancelling the old leaves that."""
    farm = make_farm(tmp_path)
    record = Record(entries=(done("ash", "weekly-inspection", "2026-07-02"),))
    on = day("2027-04-25")

    def found(asked_of: Record) -> list[tuple[State, str]]:
        listed = due_items(Asked(farm, asked_of, on))
        return [
            (item.state, item.due.isoformat())
            for item in listed
            if (item.rule, item.site) == ("weekly-inspection", "ash")
        ]

    assert found(record) == [(State.OVERDUE, "2027-04-20"), (State.SEASON_OVER, "2026-07-09")]
    listed = due_items(Asked(farm, record, on))
    of_ash = [item for item in listed if (item.rule, item.site) == ("weekly-inspection", "ash")]
    (old,) = [item for item in of_ash if item.state is State.SEASON_OVER]
    gone = record.model_copy(update={"cancellations": (cancel(old, on),)})
    assert found(gone) == [(State.OVERDUE, "2027-04-20")]
