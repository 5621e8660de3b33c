"""What is said to have moved from one round to another did move: to another crew, day or order."""

import datetime as dt
import io

from rich.console import Console

from routing.round import Round, Stop
from routing.share.wording.differences import difference, print_table
from tests.share.sample import DATE, itinerary, job, sample_round, stop

HERE = (52.6, -2.9)


def round_of(*names: str, crew: str = "Rowan", **more: object) -> Round:
    """Return a day of one stop a name, half an hour each."""
    stops: list[Stop] = []
    for number, name in enumerate(names, start=1):
        begins = f"{8 + number:02}:00:00"
        stops.append(stop(number, name, HERE, (begins, begins, f"{8 + number:02}:30:00"), jobs=(job(f"Feed {name}"),)))
    day = itinerary(crew, 2, tuple(stops), "16:10:10", **more)
    return sample_round(itineraries=(day,), left_out=(), even=None, dates=(day.date,))


def test_stops_that_only_shift_by_a_new_one_before_them_have_not_moved() -> None:
    found = difference(round_of("A", "B", "C"), round_of("X", "A", "B", "C"))
    assert found.gained == ("X: Feed X",)
    assert found.moved == ()


def test_of_a_changed_order_only_the_fewest_that_moved_are_named() -> None:
    """C is taken first: A and B stay in their order."""
    assert difference(round_of("A", "B", "C"), round_of("C", "A", "B")).moved == (
        "C: Feed C: Rowan, stop 3 → Rowan, stop 1",
    )


def test_another_crew_or_another_day_is_a_move() -> None:
    assert len(difference(round_of("A", "B"), round_of("A", "B", crew="Ash")).moved) == 2
    assert len(difference(round_of("A"), round_of("A", date=DATE + dt.timedelta(days=1))).moved) == 1


def test_one_person_s_crews_of_one_name_are_one() -> None:
    """The same name under another id on the same day has not moved."""
    renamed = round_of("A", "B")
    day = renamed.itineraries[0].model_copy(update={"crew": "rowan-2"})
    assert difference(round_of("A", "B"), renamed.model_copy(update={"itineraries": (day,)})).moved == ()


def test_the_coming_home_in_the_table_is_that_of_the_round() -> None:
    """16:10:10 is shown as 16:11 everywhere."""
    to = Console(file=io.StringIO(), width=100)
    print_table([("as it is", round_of("A"))], to)
    assert isinstance(to.file, io.StringIO)
    assert "16:11" in to.file.getvalue()


def test_where_the_dates_differ_both_ends_of_a_move_have_theirs() -> None:
    """From a round of two days to one of one day: "stop 1 → stop 1" would say nothing."""
    two = round_of("A", date=DATE + dt.timedelta(days=1)).model_copy(
        update={"dates": (DATE, DATE + dt.timedelta(days=1))}
    )
    assert difference(two, round_of("A")).moved == ("A: Feed A: Thu 19 Dec, Rowan, stop 1 → Wed 18 Dec, Rowan, stop 1",)
