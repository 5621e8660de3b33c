"""Each judge finds what it is there to find: a good answer has no complaint, and one false thing in it has."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from routing.round import (
    Break,
    Insertion,
    Itinerary,
    LeftOut,
    PlannedJob,
    Proof,
    ReasonCode,
    Remedy,
    RemedyKind,
    Round,
    Shortfall,
)
from tests.hard.complaint import Complaint
from tests.hard.judge_left_out import judge_clash, judge_left_out
from tests.hard.judge_proof import judge_proof
from tests.hard.judge_remedies import judge_remedies
from tests.hard.judge_round import judge_round
from tests.hard.made import made_of
from tests.hard.oracle import Oracle
from tests.hard.round_by_hand import round_of
from tests.hard.test_oracle import DATE, all_drives, farm_of, stops

HOURS = {"A": "08:00-09:00", "C": "12:00-13:00", "D": "12:50-15:00"}
MINUTE = 60


@dataclass(frozen=True)
class Good:
    """A farm's oracle and a true round of it."""

    oracle: Oracle
    round: Round

    @property
    def day(self) -> Itinerary:
        """The only day."""
        return self.round.itineraries[0]

    def complaints(self, round_: Round) -> set[str]:
        """Return the sorts of all complaints about the days of a round."""
        return {complaint.sort for complaint in judge_round(round_, self.oracle)}


@pytest.fixture
def good(tmp_path: Path) -> Good:
    """Return the day that is worked out by hand in the oracle's tests: 4 h 50 with a break in the wait before C."""
    oracle = farm_of(tmp_path, HOURS, all_drives(*HOURS), crew={"break_minutes": "30"})
    return Good(oracle, round_of(oracle, stops(oracle.outings[0], "A", "C", "D")))


def test_the_day_made_by_hand_has_no_complaint(good: Good) -> None:
    """It leaves 08:30 and is home 13:20, the break from 11:30 at C, 3 h after leaving: no second one is due."""
    assert good.complaints(good.round) == set()
    rest = good.day.stops[1].rest
    assert rest is not None
    assert f"{rest.start:%H:%M}" == "11:30"
    assert (f"{good.day.leave:%H:%M}", f"{good.day.home:%H:%M}", good.day.away_seconds) == (
        "08:30",
        "13:20",
        290 * MINUTE,
    )


def later(day: Itinerary, minutes: int, **fields: object) -> Itinerary:
    """Return the day with all its instants so much later."""
    by = dt.timedelta(minutes=minutes)
    moved = [
        stop.model_copy(
            update={
                **{name: getattr(stop, name) + by for name in ("arrive", "start", "finish")},
                "rest": stop.rest and stop.rest.model_copy(update={"start": stop.rest.start + by}),
            }
        )
        for stop in day.stops
    ]
    ends = {name: getattr(day, name) + by for name in ("load_from", "leave", "home")}
    return day.model_copy(update={**ends, "stops": tuple(moved), **fields})


def with_stop(day: Itinerary, number: int, **fields: object) -> Itinerary:
    """Return the day with one stop changed, counted from 1."""
    stop = day.stops[number - 1].model_copy(update=fields)
    return day.model_copy(update={"stops": (*day.stops[: number - 1], stop, *day.stops[number:])})


def rest_at(day: Itinerary, hour: int, minute: int) -> Break:
    """Return a break of half an hour from a clock time on."""
    return Break(start=day.leave.replace(hour=hour, minute=minute), seconds=30 * MINUTE)


def _told_twice(day: Itinerary) -> Itinerary:
    return day.model_copy(update={"cautions": ("A second break is due.",)})


DAMAGES: dict[str, tuple[Callable[[Itinerary], Itinerary], str]] = {
    "later": (lambda day: later(day, 61), "outside the window"),
    "earlier": (lambda day: later(day, -151), "leaves too early"),
    "away": (lambda day: day.model_copy(update={"away_seconds": 1}), "totals"),
    "home": (lambda day: day.model_copy(update={"home": day.home + dt.timedelta(seconds=1)}), "home"),
    "home by": (lambda day: day.model_copy(update={"home_by": day.home}), "home by"),
    "load from": (lambda day: day.model_copy(update={"load_from": day.home}), "load from"),
    "no break": (lambda day: with_stop(day, 2, rest=None), "break due or not"),
    "two breaks": (lambda day: with_stop(day, 1, rest=rest_at(day, 9, 0)), "two breaks"),
    "break in work": (lambda day: with_stop(day, 2, rest=rest_at(day, 12, 10)), "break misplaced"),
    "break late": (lambda day: with_stop(day, 2, rest=rest_at(day, 11, 31)), "break too late"),
    "last": (lambda day: with_stop(with_stop(day, 2, rest=None), 3, rest=rest_at(day, 13, 10)), "break misplaced"),
    "caution": (_told_twice, "second break"),
    "work": (lambda day: with_stop(day, 1, on_site_seconds=1), "on site"),
    "light left": (lambda day: with_stop(day, 1, light_left_seconds=1), "light left"),
    "load": (lambda day: with_stop(day, 1, load_kg=5.0), "load on board"),
    "calls": (lambda day: day.model_copy(update={"call_ins": day.call_ins[:-1]}), "call-ins"),
    "where": (
        lambda day: day.model_copy(
            update={"call_ins": tuple(call.model_copy(update={"where": "D"}) for call in day.call_ins)}
        ),
        "call-in where",
    ),
    "order": (lambda day: day.model_copy(update={"stops": day.stops[::-1]}), "drive or arrive"),
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_damaged_day_is_complained_of(good: Good, damage: str) -> None:
    """One thing is changed in a good day, and the judge of that thing says so."""
    change, sort = DAMAGES[damage]
    found = good.complaints(good.round.model_copy(update={"itineraries": (change(good.day),)}))
    assert found & {sort, *sort.split(" or ")}


def proof_of(good: Good, proof: Proof) -> set[str]:
    """Return the sorts of the complaints about a proof of the round."""
    round_ = good.round.model_copy(update={"proof": proof})
    return {complaint.sort for complaint in judge_proof(round_, good.oracle, made_of(round_, good.oracle))}


def test_a_proof_is_true_of_the_best_round_and_false_of_a_longer_or_lesser_one(tmp_path: Path) -> None:
    """A is 60 min by road from B though each is 10 from base and 10 from C: A, C, B is best, and A, B, C no more than that."""
    drives = all_drives("A", "B", "C") | {("A", "B"): 60.0}
    oracle = farm_of(tmp_path, {"A": "", "B": "", "C": ""}, drives)
    proven = Proof(optimal=True, text="Proven: no round does more of what matters most.")
    best = Good(oracle, round_of(oracle, stops(oracle.outings[0], "A", "C", "B")))
    assert proof_of(best, proven) == set()
    assert proof_of(Good(oracle, round_of(oracle, stops(oracle.outings[0], "A", "B", "C"))), proven) == {"proof: away"}
    lesser = Good(oracle, round_of(oracle, stops(oracle.outings[0], "A", "C"), left="B"))
    assert proof_of(lesser, proven) == {"proof: ranks"}
    bounds = Proof(optimal=False, text="x", rank_bounds=(0, 21, 0, 0), away_bound_seconds=100 * MINUTE)
    assert proof_of(best, bounds) == set()
    worse = Proof(optimal=False, text="x", rank_bounds=(0, 20, 0, 0), away_bound_seconds=100 * MINUTE + 1)
    assert proof_of(best, worse) == {"proof: rank bound below own", "proof: rank bound", "proof: away bound above own"}
    assert proof_of(lesser, Proof(optimal=False, text="x", rank_bounds=(0, 20, 0, 0))) == {"proof: rank bound"}
    told = "No round of the same jobs is away for less than {}: this one is within 1 %."
    assert proof_of(best, Proof(optimal=False, text=told.format("1 h 40"))) == set()
    assert proof_of(best, Proof(optimal=False, text=told.format("1 h 41"))) == {"proof: away told"}
    more = (
        "Not proven: another round may do more of rank “must”, but at most {} more (a job a week late counts as two)."
    )
    assert proof_of(lesser, Proof(optimal=False, text=more.format("1 job"))) == set()
    assert proof_of(lesser, Proof(optimal=False, text=more.format("0.9 jobs"))) == {"proof: jobs told"}


def test_the_shorter_of_two_ways_in_the_same_time_is_known(tmp_path: Path) -> None:
    """The drives known are all 10 minutes, so every order is as quick; the metres stay those of the places."""
    oracle = farm_of(tmp_path, {"A": "", "B": "", "C": ""}, all_drives("A", "B", "C"))
    proven = Proof(optimal=True, text="Proven: no round does more of what matters most.")
    orders = [("A", "B", "C"), ("A", "C", "B")]  # in a line north of base: there and back, or to and fro
    found = [proof_of(Good(oracle, round_of(oracle, stops(oracle.outings[0], *order))), proven) for order in orders]
    assert found == [set(), {"proof: distance"}]


def left_out(oracle: Oracle, site: str, *remedies: Remedy, **fields: object) -> LeftOut:
    """Return the entry of a site's only job, left out for want of room, as it would cost 30 min after A."""
    work = next(work for work in oracle.world.works if work.job.site == site)
    place = oracle.world.farm.site(site).place
    shown = PlannedJob(
        id=work.job.id, kind=work.kind.id, name=work.kind.name, hives=1, work_seconds=0, rank=work.job.rank
    )
    entry = LeftOut(
        site=site,
        name=site,
        latitude=place.latitude,
        longitude=place.longitude,
        jobs=(shown,),
        reason=ReasonCode.NO_ROOM,
        text="would fit alone, but not beside the visits that are planned",
        insertion=Insertion(
            crew="one",
            date=DATE,
            after="A",
            extra_seconds=30 * MINUTE,
            shortfalls=(Shortfall(what="home by", amount=10.0 * MINUTE, unit="seconds"),),
        ),
        remedies=remedies,
    )
    return entry.model_copy(update=fields)


@pytest.fixture
def crowded(tmp_path: Path) -> Good:
    """Home 60 min after the start: A alone takes 40 min, A and B would take 70, so B is left out by 10 min."""
    crew = {"earliest_start": '"08:00"', "home_by": '"09:00"'}
    oracle = farm_of(tmp_path, {"A": "", "B": ""}, all_drives("A", "B"), crew=crew)
    return Good(oracle, round_of(oracle, stops(oracle.outings[0], "A"), left="B"))


def about(crowded: Good, entry: LeftOut) -> set[str]:
    """Return the sorts of complaints about one left-out entry and its remedies."""
    round_ = crowded.round.model_copy(update={"left_out": (entry,)})
    days = made_of(round_, crowded.oracle)
    found: list[Complaint] = list(judge_left_out(round_, crowded.oracle, days))
    return {one.sort for one in (*found, *judge_remedies(round_, crowded.oracle, days))}


def test_reasons_and_places_are_held_to_the_farm(crowded: Good) -> None:
    """True as it stands; false where the reason is called certain, the extra time is too little or breaks too little."""
    oracle = crowded.oracle
    assert about(crowded, left_out(oracle, "B")) == set()
    certain = left_out(oracle, "B", reason=ReasonCode.TOO_FAR, text="too far", insertion=None)
    assert about(crowded, certain) == {"reason: certain and false"}
    place = left_out(oracle, "B").insertion
    assert place is not None
    quick = place.model_copy(update={"extra_seconds": 0})
    assert about(crowded, left_out(oracle, "B", insertion=quick)) == {"insertion: extra time"}
    nothing = place.model_copy(update={"shortfalls": ()})
    assert "insertion: breaks nothing" in about(crowded, left_out(oracle, "B", insertion=nothing))
    little = place.shortfalls[0].model_copy(update={"amount": 599.0})
    small = place.model_copy(update={"shortfalls": (little,)})
    assert about(crowded, left_out(oracle, "B", insertion=small)) == {"insertion: breaks more"}


def test_what_still_fits_is_found(tmp_path: Path) -> None:
    """With home by 10 there is room for B after A."""
    oracle = farm_of(tmp_path, {"A": "", "B": ""}, all_drives("A", "B"), crew={"home_by": '"10:00"'})
    roomy = Good(oracle, round_of(oracle, stops(oracle.outings[0], "A"), left="B"))
    assert "still fits" in about(roomy, left_out(oracle, "B"))


@pytest.mark.parametrize(
    ("kind", "amount", "text", "true"),
    [
        (RemedyKind.LATER_HOME, 600, "10 min later home", True),
        (RemedyKind.LATER_HOME, 540, "9 min later home", False),
        (RemedyKind.LATER_HOME, 660, "11 min later home", False),
        (RemedyKind.LATER_HOME, 660, "at most 11 min later home", True),
        (RemedyKind.EARLIER_START, 600, "10 min earlier start", True),
        (RemedyKind.MORE_LIGHT, 600, "10 min more light", False),
        (RemedyKind.LEAVE_OUT, 1, "leave out A instead (must)", True),
        (RemedyKind.LEAVE_OUT, 1, "leave out A instead (want)", False),
        (RemedyKind.LEAVE_OUT, 1, "leave out C instead (must)", False),
        (RemedyKind.MORE_PEOPLE, 1, "one more pair of hands (2 people)", False),
        (RemedyKind.MORE_TRIPS, 1, "one more load from base", False),
        (RemedyKind.OTHER_DAY, 1, "do it on Thursday 11 June 2026, where it fits with nothing else that day", True),
        (RemedyKind.OTHER_DAY, 1, "do it on Friday 12 June 2026, where it fits with nothing else that day", False),
        (RemedyKind.LATER_HOME, 600, "10 min later home, with A (Heft and check stores, must) left out", False),
    ],
)
def test_remedies_are_done_to_the_farm(
    crowded: Good,
    kind: RemedyKind,
    amount: float,
    text: str,
    true: bool,  # noqa: FBT001
) -> None:
    """The round of A and B lacks 10 min of the crew's time and nothing else; its work is not by the hive."""
    found = about(crowded, left_out(crowded.oracle, "B", Remedy(kind=kind, amount=amount, text=text)))
    assert found == (set() if true else {f"remedy: {kind}"})


def test_a_clash_is_held_to_its_words(crowded: Good) -> None:
    """A and B clash and each alone is possible; A alone is no clash."""
    said = "These 2 musts cannot all be done on Wednesday, whatever else is left: {}. Without any one of them the others can."
    kind = crowded.oracle.world.works[0].kind.name
    for names, true in ((f"A ({kind}), B ({kind})", True), (f"A ({kind})", False), (f"C ({kind})", False)):
        round_ = crowded.round.model_copy(update={"clash": said.format(names)})
        assert (list(judge_clash(round_, crowded.oracle)) == []) is true


def test_another_day_on_which_it_does_not_fit_is_found(tmp_path: Path) -> None:
    """B is open for 10 min of a day and takes 20."""
    oracle = farm_of(tmp_path, {"A": "", "B": "08:00-08:10"}, all_drives("A", "B"))
    shut = Good(oracle, round_of(oracle, stops(oracle.outings[0], "A"), left="B"))
    text = "do it on Thursday 11 June 2026, where it fits with nothing else that day"
    entry = left_out(oracle, "B", Remedy(kind=RemedyKind.OTHER_DAY, amount=1, text=text))
    assert "remedy: another day" in about(shut, entry)
