"""The first lines of a round: true as they are read, on a farm with all done, nothing done, in the dark and damaged."""

import datetime as dt
from typing import Any

import pytest

from routing.farm.models import Rank
from routing.round import Itinerary, LeftOut, ReasonCode, Remedy, RemedyKind, Round
from routing.share.exports.markdown import markdown_text, round_markdown
from routing.share.pages.page import round_page
from routing.share.wording.answer import answer_lines, crew_answer_lines
from tests.share.sample import DATE, alder, at, job, left_out, rowan, sample_round

HERE = (52.6, -2.9)


def one_day(*lefts: LeftOut, **more: Any) -> Round:
    """Return Alder's day: one must and four wants, home at 14:58:10."""
    return sample_round(itineraries=(alder(),), left_out=lefts, even=None, **more)


def missed(name: str, *remedies: Remedy, reason: ReasonCode = ReasonCode.NO_ROOM, **more: Any) -> LeftOut:
    return left_out(name, HERE, reason, "why", remedies=remedies, jobs=(job(f"Feed {name}", **more),))


def test_all_done_before_dark_is_said_first_and_when_to_leave_next() -> None:
    """A farm with nothing left out needs two lines."""
    assert answer_lines(one_day()) == (
        "The one must before dark; all 4 wants.",
        "Leave 07:37, home 14:59 (wanted by 17:30).",
    )


def test_a_must_that_is_left_out_is_counted_and_named_with_its_reason() -> None:
    moor = missed("Far Moor", reason=ReasonCode.NO_VEHICLE, rank=Rank.MUST)
    lines = answer_lines(one_day(moor, missed("Ash Lane"), missed("Elm", rank=Rank.PASSING)))
    assert lines[0] == "1 of 2 musts before dark; 4 of 5 wants, not the one passing job."
    assert lines[2] == "Left out that must be done: Far Moor (no vehicle)."


def test_many_missed_musts_are_named_to_four_and_counted() -> None:
    lines = answer_lines(one_day(*(missed(f"Site {letter}", rank=Rank.MUST) for letter in "ABCDEF")))
    assert lines[2].endswith("Site C (no room in the day), Site D (no room in the day) and 2 more.")


def test_what_is_not_due_yet_is_not_counted() -> None:
    assert answer_lines(one_day(missed("Croft", reason=ReasonCode.NOT_DUE, rank=Rank.MUST))) == answer_lines(one_day())


def test_what_to_buy_and_whom_to_ask_are_lines_of_their_own() -> None:
    buy = Remedy(kind=RemedyKind.MORE_STOCK, amount=25, text="25 kg more Fondant")
    ask = Remedy(kind=RemedyKind.MORE_PEOPLE, amount=1, text="one more pair of hands (2 people)")
    later = Remedy(kind=RemedyKind.LATER_HOME, amount=600, text="10 min later home")
    lines = answer_lines(one_day(missed("Ash", later, buy), missed("Elm", ask)))
    assert lines[2:] == (
        "Buy: 25 kg more Fondant, for Ash.",
        "Ask for: one more pair of hands (2 people), for Elm.",
    )


def test_a_sentence_on_the_chance_stands_third_and_none_leaves_no_gap() -> None:
    assert answer_lines(one_day(), "It holds on 9 days in 10.")[2] == "It holds on 9 days in 10."
    assert all(answer_lines(one_day()))


@pytest.mark.parametrize(("finish", "dark"), [("16:20:00", False), ("16:45:00", True)])
def test_before_dark_is_said_only_where_all_work_ends_by_civil_dusk(finish: str, *, dark: bool) -> None:
    """At 52.5 north, 3 west, on 18 December the sun sets shortly before 16:00, and civil dusk is some 40 minutes later."""
    day = alder()
    last = day.stops[-1].model_copy(update={"finish": at(finish)})
    late = day.model_copy(update={"stops": (*day.stops[:-1], last)})
    first = answer_lines(sample_round(itineraries=(late,), left_out=()))[0]
    assert ("before dark" not in first) is dark
    assert ("in the dark, as the work allows: Hollow Farm" in first) is dark


def test_work_before_dawn_is_not_called_before_dark() -> None:
    day = alder()
    first = day.stops[0].model_copy(update={"start": at("06:00:00")})
    early = day.model_copy(update={"stops": (first, *day.stops[1:])})
    assert "in the dark, as the work allows: Mill Bank" in answer_lines(sample_round(itineraries=(early,)))[0]


def test_a_round_of_nothing_says_so() -> None:
    nothing = sample_round(itineraries=(), left_out=(missed("Ash"), missed("Elm", rank=Rank.MUST)))
    assert answer_lines(nothing)[0] == "Nothing is planned: not the one must, not the one want."
    assert answer_lines(sample_round(itineraries=(), left_out=())) == ("Nothing is due.",)


def test_a_damaged_round_never_says_all() -> None:
    """What a fault took away is counted nowhere: so nothing is said of all."""
    lines = answer_lines(one_day(faults=("crew anna: wrong",)))
    assert lines[0] == "1 must planned before dark; 4 wants planned."
    assert any("took away a part" in line for line in lines)


def test_one_person_s_days_stand_together_under_one_name() -> None:
    """Two crews of one name on two days are one person: one line, though their ids differ."""
    next_day = dt.timedelta(days=1)

    def later(day: Itinerary) -> Itinerary:
        moved = {name: getattr(day, name) + next_day for name in ("load_from", "leave", "home", "home_by", "date")}
        return day.model_copy(update={**moved, "crew": "rowan on Thursdays"})

    both = sample_round(itineraries=(rowan(), later(rowan())), dates=(DATE, DATE + next_day), left_out=())
    assert answer_lines(both)[1:] == ("Rowan: Wed 18 Dec leave 07:37, home 16:11; Thu 19 Dec leave 07:37, home 16:11.",)


def test_page_and_markdown_begin_with_the_same_answer() -> None:
    """Paper and screen say the same words before anything of a crew's day."""
    round_ = sample_round()
    page, paper = round_page(round_).partition("<h2")[0], round_markdown(round_).partition("## ")[0]
    for line in answer_lines(round_):
        assert line in page
        assert markdown_text(line) in paper
    assert "<ul" not in round_page(sample_round(itineraries=(), left_out=())).split("<section")[0].split("<main")[1]


def test_days_of_the_round_without_work_are_named_and_a_single_day_has_its_date() -> None:
    dates = tuple(DATE + dt.timedelta(days=number) for number in range(3))
    lines = answer_lines(sample_round(itineraries=(alder(),), dates=dates, left_out=()))
    assert lines[1] == "Wed 18 Dec: leave 07:37, home 14:59 (wanted by 17:30)."
    assert lines[2] == "Nothing is planned on Thu 19 Dec, Fri 20 Dec."


def test_help_is_asked_for_the_musts_and_what_it_is_for_stands_beside_it() -> None:
    """Nobody asks a neighbour to come for a passing job while a must is short of hands."""
    hands = "one more pair of hands (2 people)"
    ask = Remedy(kind=RemedyKind.MORE_PEOPLE, amount=1, text=hands)
    tight = Remedy(kind=RemedyKind.MORE_PEOPLE, amount=1, text=f"{hands}, with Ash left out")
    lines = answer_lines(one_day(missed("Elm", ask, rank=Rank.PASSING), missed("Oak", tight, rank=Rank.MUST)))
    assert lines[-1] == f"Ask for: {hands}, for Oak, with Ash left out."
    lines = answer_lines(one_day(missed("Elm", ask, rank=Rank.PASSING), missed("Oak", rank=Rank.MUST)))
    assert lines[-1] == f"Ask for: {hands}, for Elm (passing)."


def test_the_answer_of_one_crew_of_several_is_cut_to_its_own_day() -> None:
    """Alder has a must and four wants and is home at 14:58:10; of Rowan's day and what is left out it tells nothing."""
    round_ = sample_round()
    assert crew_answer_lines(round_, 0) == (
        "1 must, 4 wants, all before dark.",
        "Leave 07:37, home 14:59 (wanted by 17:30).",
    )
    assert crew_answer_lines(one_day(), 0) == answer_lines(one_day())
    buy = Remedy(kind=RemedyKind.MORE_STOCK, amount=25, text="25 kg more Fondant")
    short = one_day(missed("Far Moor", buy, rank=Rank.MUST))
    assert crew_answer_lines(short, 0)[2:] == ("Left out that must be done: Far Moor (no room in the day).",)
