"""The round in words: what the sample says, worked out by hand."""

import datetime as dt

from routing.round import Break, ReasonCode, Remedy, RemedyKind, Round, Start
from routing.share.wording.sheet import round_sheet
from tests.share.sample import CLOSES, DATE, alder, at, hostile_round, left_out, rowan, sample_round, stop


def test_the_visits_and_what_is_left_out_are_counted() -> None:
    assert round_sheet(sample_round()).visits == (
        "6 visits by 2 crews; 2 jobs at 2 sites left out, see why below. 1 job not due yet."
    )
    assert round_sheet(sample_round(left_out=())).visits == "6 visits by 2 crews; every job that is due is planned."
    later = left_out("New Croft", (52.63, -2.99), ReasonCode.NOT_DUE, "Not before 3 January 2025.")
    assert round_sheet(sample_round(left_out=(later,))).visits.endswith(
        "every job that is due is planned. 1 job not due yet."
    )


def test_a_stop_is_shown_to_the_safe_minute() -> None:
    mill = round_sheet(sample_round()).crews[0].stops[0]
    # arrive 08:02:10, window from 08:20:30, finish 09:10:30, window to 15:40:40; 182.54 kg
    assert (mill.mark, mill.arrive, mill.start, mill.finish) == ("A1", "08:03", "08:21", "09:11")
    assert (mill.light_left, mill.on_board, mill.drive, mill.drive_note) == ("6 h 29", "182.6 kg", "25 min", "estimate")
    assert "Work only from 08:21 to 15:40." in mill.details
    assert "Wait 19 min before starting." in mill.details
    assert "Note: Ring at the farm." in mill.details


def test_jobs_carry_rank_and_days_overdue() -> None:
    meadow = round_sheet(sample_round()).crews[0].stops[1]
    assert "Oxalic treatment, 8 hives, must, 3 days overdue: 45 min" in meadow.jobs


def test_break_walk_and_last_of_day_are_told() -> None:
    quarry, hollow = round_sheet(sample_round()).crews[0].stops[2:]
    assert "Break of 20 min here, from 12:02." in quarry.details
    assert "Walk 4 min each way from the vehicle." in quarry.details
    assert any(line.startswith("Last of the day") for line in hollow.details)


def test_the_day_of_a_crew_leaves_early_and_comes_home_late_by_the_minute() -> None:
    facts = dict(round_sheet(sample_round()).crews[0].facts)
    assert (facts["Load from"], facts["Leave base"]) == ("07:22", "07:37")
    assert facts["Home"] == "14:59, wanted by 17:30"
    assert facts["Least light left"] == "1 h 11, at Hollow Farm"
    assert facts["Away"] == "7 h 22"  # from 07:37 to 14:59, as both are shown
    # 4 legs shown as 25 min and 30 min home are 130 min; 4 legs of 14 km and 21 km are 77 km, 47.8 miles
    assert facts["Driving"] == "2 h 10, 47.8 miles (estimate)"


def test_loads_are_told_in_kilograms_pieces_and_packs() -> None:
    crew = round_sheet(sample_round()).crews[0]
    (trip,) = crew.trips
    fondant, guards = trip.out
    assert (fondant.amount, fondant.packs, fondant.weight) == (
        "195 kg",
        "16 \N{MULTIPLICATION SIGN} box of 12.5 kg",
        "200 kg",
    )
    assert (guards.amount, guards.packs) == ("50 pieces", "")
    # 212.5 of 650 kg is 32.7 %
    assert trip.fullest[0] == "Heaviest: 212.5 kg on leaving base, of 650 kg (33 %)."


def test_a_caution_of_a_job_is_told_once_with_its_stops() -> None:
    assert round_sheet(sample_round()).cautions[:2] == ("Lift with two. (stop A1)", "Respirator on. (stop A2)")


def test_a_call_on_coming_home_is_due_in_the_minute_shown_as_home() -> None:
    alone = round_sheet(sample_round()).crews[1]
    assert "1 person, alone" in alone.who
    assert alone.call_ins == (("09:37", "on the way or at Church Orchard"), ("16:11", "home"))
    assert alone.home == "16:11"  # 16:10:10


def test_why_a_visit_is_left_out_and_what_would_save_it() -> None:
    moor, lane, croft = round_sheet(sample_round()).left_out
    assert moor.standing == "certain: true of this visit alone"
    assert not moor.cheapest
    assert lane.cheapest == (
        "Tried: Alder, after Quarry Top: 43 min longer, and 12 min past working light and 12.5 kg more than the payload."
    )
    assert lane.remedies == ("It would fit with 12 min more light.",)
    assert croft.standing == "certain: not yet wanted on this date"


def test_one_crew_needs_no_letter() -> None:
    only = round_sheet(sample_round(itineraries=(alder(),)))
    assert [stop.mark for stop in only.crews[0].stops] == ["1", "2", "3", "4"]


def test_the_twenty_seventh_itinerary_is_aa() -> None:
    many = round_sheet(sample_round(itineraries=(rowan(),) * 28))
    assert [many.crews[index].letter for index in (0, 25, 26, 27)] == ["A", "Z", "AA", "AB"]


def test_a_round_of_nothing_has_words() -> None:
    empty = round_sheet(sample_round(itineraries=(), dates=()))
    assert empty.title == "Round"
    assert empty.visits.startswith("0 visits by 0 crews")
    assert empty.headline == "Nothing is planned: none of the 2 wants."
    assert round_sheet(sample_round(itineraries=(), left_out=())).headline == "Nothing is due."


def test_a_finish_in_the_last_seconds_is_shown_inside_the_window() -> None:
    last = stop(1, "Edge", (52.6, -2.9), ("15:00:00", "15:00:00", CLOSES))
    shown = round_sheet(sample_round(itineraries=(alder().model_copy(update={"stops": (last,)}),))).crews[0].stops[0]
    assert (shown.finish, shown.light_left) == ("15:40", "0 min")
    assert at(CLOSES).second == 40  # the window itself does not end on a whole minute


def test_words_are_the_same_after_saving_and_reading() -> None:
    for round_ in (sample_round(), hostile_round()):
        assert round_sheet(Round.model_validate_json(round_.model_dump_json())) == round_sheet(round_)


def test_more_than_two_days_in_a_row_are_told_by_the_first_and_the_last() -> None:
    """Three days in a row are a stretch; with a gap, or only two, each day stands for itself."""
    day = dt.date(2026, 12, 10)

    def title(*days: int) -> str:
        dates = tuple(day + dt.timedelta(days=number) for number in days)
        return round_sheet(sample_round().model_copy(update={"dates": dates})).title

    assert title(0, 1, 2) == "Round for 3 days, Thursday 10 December 2026 to Saturday 12 December 2026"
    assert title(0, 1) == "Round for Thursday 10 December 2026, Friday 11 December 2026"
    assert title(0, 1, 3).count(",") == 2


def three_days(*, apart: bool = True) -> Round:
    """Return one lone person's Wednesday and Thursday of three days, or two crews of one name on one day."""
    more = dt.timedelta(days=1 if apart else 0)
    fields = ("load_from", "leave", "home", "home_by", "date")
    moved = {name: getattr(rowan(), name) + more for name in fields}
    second = rowan().model_copy(update={**moved, "crew": "rowan on thursdays"})
    dates = tuple(DATE + dt.timedelta(days=number) for number in range(3))
    return sample_round(itineraries=(rowan(), second), dates=dates, left_out=())


def test_one_person_s_days_read_as_one_person_s_days() -> None:
    """Two crews of one name on two days are one person with two days, in the headings and in the count."""
    sheet = round_sheet(three_days())
    assert sheet.visits.startswith("4 visits by Rowan on 2 days; ")
    assert [crew.title for crew in sheet.crews] == [
        "A: Rowan, day 1 of 2, Wednesday 18 December 2024",
        "B: Rowan, day 2 of 2, Thursday 19 December 2024",
    ]
    assert [crew.under for crew in sheet.crews] == ["1 person, alone, White van"] * 2


def test_two_crews_that_go_by_one_name_on_one_day_stay_two() -> None:
    sheet = round_sheet(three_days(apart=False))
    assert sheet.visits.startswith("4 visits by 2 crews on 1 day; ")
    assert not any("day 1 of" in crew.title for crew in sheet.crews)


def test_of_several_days_a_single_one_tells_its_date() -> None:
    """One day of work in a round of three: without its date nobody knows when to leave."""
    round_ = three_days().model_copy(update={"itineraries": (rowan(),)})
    (crew,) = round_sheet(round_).crews
    assert crew.title == "Crew: Rowan, Wednesday 18 December 2024"


def test_a_wait_that_is_the_break_is_told_once() -> None:
    """Arrived at 12:00 with a break of 20 minutes and work from 12:25: five minutes of waiting are left."""
    times = ("12:00:00", "12:25:00", "13:00:00")
    rest = Break(start=at("12:00:00"), seconds=1200)
    day = rowan().model_copy(update={"stops": (stop(1, "Elm", (52.6, -2.9), times, rest=rest),)})
    details = round_sheet(sample_round(itineraries=(day,))).crews[0].stops[0].details
    assert details[1:3] == ("Break of 20 min here, from 12:00, before the work.", "Wait 5 min before starting.")


def test_the_rest_of_a_day_loads_nothing_at_base() -> None:
    """Who stands at a site cannot load at base: the list is what must be on the vehicle."""
    start = Start(name="Elm", latitude=52.6, longitude=-2.9)
    sheet = round_sheet(sample_round(itineraries=(rowan(),), start=start))
    (crew,) = sheet.crews
    assert sheet.origin == "Elm"
    assert "Load from" not in dict(crew.facts)
    assert [trip.title for trip in crew.trips] == ["Needed on the vehicle"]
    assert crew.trips[0].fullest[0].startswith("Heaviest: 212.5 kg on leaving Elm, ")


def test_what_would_save_a_visit_is_one_sentence_and_more_light_stands_apart() -> None:
    """Nobody can do anything about the light, so it is not told as a remedy; one label serves all the others."""
    told = ((RemedyKind.EARLIER_START, "36 min earlier start"), (RemedyKind.MORE_LIGHT, "36 min more light"))
    remedies = tuple(Remedy(kind=kind, text=text) for kind, text in (*told, (RemedyKind.OTHER_DAY, "do it on Friday")))
    moor = left_out("Moor", (52.6, -2.9), ReasonCode.NO_ROOM, "would fit alone", remedies=remedies)
    (sheet,) = round_sheet(sample_round(left_out=(moor,))).left_out
    assert sheet.text == "Would fit alone."
    assert sheet.remedies == (
        "What would save it: 36 min earlier start; or do it on Friday.",
        "It would also fit with 36 min more light.",
    )


def test_what_the_given_order_leaves_out_is_not_called_certain() -> None:
    """That a site is not in one's own order is no property of the visit."""
    moor = left_out("Moor", (52.6, -2.9), ReasonCode.NOT_ASKED, "left out of the order")
    (sheet,) = round_sheet(sample_round(left_out=(moor,))).left_out
    assert sheet.standing == "because of the order that you gave"
