"""An invented farm's round on a short December day: two crews, a wait, a break, an overdue job, sites left out.

Times are made up by hand. Work may be done from 08:20:30 to 15:40:40 at every site (an invented window, not a sun's).
"""

from __future__ import annotations

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from routing.farm.models import Rank
from routing.round import (
    Break,
    CallIn,
    Drive,
    EvenDays,
    Insertion,
    Itinerary,
    LeftOut,
    LoadItem,
    LoadList,
    PlannedJob,
    Proof,
    ReasonCode,
    Remedy,
    RemedyKind,
    Round,
    Shortfall,
    Stop,
)
from routing.travel.leg_origin import LegOrigin

ZONE = ZoneInfo("Europe/London")
DATE = dt.date(2024, 12, 18)
OPENS, CLOSES = "08:20:30", "15:40:40"

HOSTILE = (
    "</script><script>window.hurt=1</script><img src=x onerror=window.hurt=1>\"'`${window.hurt=1}\\"
    "[red]|*x* \x1b[31m\x07\u202etxt\u2066 www.bad.example http://bad.example {{7*7}} # - \u05e9\u05dc\r\nEnd"
)
"""Everything that could come alive somewhere: HTML, both kinds of script text, Markdown, terminal, text direction."""

SEEN = "<img src=x onerror=window.hurt=1>"
"""A part of `HOSTILE` that a reader must still be able to read, as text."""

WAITING = ("Mill Bank", (52.71, -2.93), ("08:02:10", "08:20:30", "09:10:30"))


def at(clock: str, date: dt.date = DATE) -> dt.datetime:
    """Return the zone-aware time on the sample's date."""
    return dt.datetime.combine(date, dt.time.fromisoformat(clock), ZONE)


def job(name: str = "Feed fondant", hives: int = 12, minutes: int = 30, **more: Any) -> PlannedJob:
    """Return a job of `minutes`; its id follows from its name."""
    fields = {"id": f"jobs.csv:{name}", "kind": name.lower(), "name": name, "hives": hives, "rank": Rank.WANT}
    return PlannedJob.model_validate({**fields, "work_seconds": 60 * minutes, **more})


def stop(number: int, name: str, where: tuple[float, float], times: tuple[str, str, str], **more: Any) -> Stop:
    """Return a stop with its arrive, start and finish; the light left follows from the sample's window."""
    arrive, start, finish = (at(time) for time in times)
    fields: dict[str, Any] = {
        "number": number,
        "site": name.lower(),
        "name": name,
        "latitude": where[0],
        "longitude": where[1],
        "drive": Drive(seconds=1490, metres=14_000, origin=LegOrigin.ESTIMATE),
        "arrive": arrive,
        "start": start,
        "finish": finish,
        "on_site_seconds": int((finish - start).total_seconds()),
        "window_opens": at(OPENS),
        "window_closes": at(CLOSES),
        "light_left_seconds": int((at(CLOSES) - finish).total_seconds()),
        "load_kg": 100.0,
        "load_litres": 90.0,
        "jobs": (job(),),
    }
    return Stop.model_validate({**fields, **more})


def load(kg: float = 212.5, fullest_at: str = "base") -> LoadList:
    """Return fondant in boxes and mouse guards in pieces going out, and empty feed bags coming back."""
    fondant = LoadItem(
        material="fondant", name="Fondant", amount=195, unit="kg", packs=16, pack="box of 12.5 kg", kg=200, litres=150
    )
    guards = LoadItem(material="guard", name="Mouse guards", amount=50, unit="pieces", kg=12.5, litres=25)
    bags = LoadItem(material="bag", name="Empty bags", amount=1, unit="pieces", kg=0.04, litres=2)
    return LoadList(
        out=(fondant, guards),
        back=(bags,),
        fullest_kg=kg,
        fullest_kg_at=fullest_at,
        payload_kg=650,
        fullest_litres=175,
        fullest_litres_at="base",
        space_litres=3000,
    )


def itinerary(crew: str, people: int, stops: tuple[Stop, ...], home: str, **more: Any) -> Itinerary:
    """Return a crew's day that leaves at 07:37:20 and must be home by 17:30."""
    fields: dict[str, Any] = {
        "crew": crew.lower(),
        "crew_name": crew,
        "people": people,
        "vehicle": "van",
        "vehicle_name": "White van",
        "date": DATE,
        "load_from": at("07:22:20"),
        "leave": at("07:37:20"),
        "stops": stops,
        "drive_home": Drive(seconds=1800, metres=21_000, origin=LegOrigin.KNOWN),
        "home": at(home),
        "home_by": at("17:30:00"),
        "away_seconds": int((at(home) - at("07:37:20")).total_seconds()),
        "drive_seconds": 1800 + sum(stop.drive.seconds for stop in stops),
        "distance_metres": 21_000 + sum(stop.drive.metres for stop in stops),
        "load": load(),
    }
    return Itinerary.model_validate({**fields, **more})


def left_out(name: str, where: tuple[float, float], reason: ReasonCode, text: str, **more: Any) -> LeftOut:
    """Return one left-out visit of one job."""
    fields = {"site": name.lower(), "name": name, "latitude": where[0], "longitude": where[1], "reason": reason}
    return LeftOut.model_validate({**fields, "text": text, "jobs": (job("Fit mouse guards", 9, 20),), **more})


def alder() -> Itinerary:
    """Return the first crew's day: two people, a wait for the light, an overdue must job, a break."""
    acid = job(
        "Oxalic treatment", 8, 45, rank=Rank.MUST, days_overdue=3, note="Red roofs only", cautions=("Respirator on.",)
    )
    rest = Break(start=at("12:01:05"), seconds=1200)
    stops = (
        stop(1, *WAITING, jobs=(job(cautions=("Lift with two.",)),), load_kg=182.54, notes="Ring at the farm."),
        stop(2, "Long Meadow", (52.66, -2.78), ("09:35:20", "09:35:20", "10:20:05"), jobs=(job(), acid)),
        stop(3, "Quarry Top", (52.56, -2.83), ("10:45:00", "10:45:00", "12:30:30"), rest=rest, walking_minutes=4),
        stop(4, "Hollow Farm", (52.52, -2.96), ("12:55:20", "12:55:20", "14:28:10"), last_of_day=True),
    )
    return itinerary("Alder", 2, stops, "14:58:10")


def rowan() -> Itinerary:
    """Return the second crew's day: one person alone, with calls to make and a finish just before dark."""
    stops = (
        stop(1, "Church Orchard", (52.60, -3.12), ("08:25:00", "08:25:00", "11:00:00"), load_kg=55.0),
        stop(2, "Upper Dingle", (52.72, -3.20), ("11:40:00", "11:40:00", "15:40:10"), load_kg=0.0),
    )
    calls = (
        CallIn(by=at("09:37:20"), where="on the way or at Church Orchard"),
        CallIn(by=at("16:10:10"), where="home"),
    )
    return itinerary("Rowan", 1, stops, "16:10:10", call_ins=calls)


def lefts() -> tuple[LeftOut, ...]:
    """Return one visit left out for certain, one that depends on the plan, and one that is not due."""
    insertion = Insertion(
        crew="alder",
        date=DATE,
        after="quarry top",
        extra_seconds=2530,
        shortfalls=(
            Shortfall(what="working light", amount=700, unit="seconds"),
            Shortfall(what="payload", amount=12.5, unit="kg"),
        ),
    )
    remedies = (Remedy(kind=RemedyKind.MORE_LIGHT, amount=700, text="12 min more light"),)
    return (
        left_out("Far Moor", (52.85, -3.30), ReasonCode.NO_VEHICLE, "Far Moor needs a 4x4 and no vehicle is one."),
        left_out(
            *("Ash Lane", (52.50, -2.70), ReasonCode.NO_ROOM, "No place in the day holds it."),
            insertion=insertion,
            remedies=remedies,
        ),
        left_out("New Croft", (52.63, -2.99), ReasonCode.NOT_DUE, "Not before 3 January 2025."),
    )


def sample_round(**more: Any) -> Round:
    """Return the whole round."""
    fields: dict[str, Any] = {
        "farm": "Harebell Bees",
        "base_name": "The Yard",
        "base_latitude": 52.61,
        "base_longitude": -2.95,
        "time_zone": "Europe/London",
        "dates": (DATE,),
        "itineraries": (alder(), rowan()),
        "left_out": lefts(),
        "proof": Proof(optimal=False, text="Each crew's order was searched in full; the split was not."),
        "even": EvenDays(
            longest_before_seconds=18_000, longest_seconds=17_000, extra_seconds=540, text="Even days: 9 min more away."
        ),
        "estimates": ("Drives are estimated from the straight line.",),
        "warnings": ("No weather was looked at.",),
        "emergency_number": "999",
    }
    return Round.model_validate({**fields, **more})


def _replaced(value: Any, text: str) -> Any:
    """Return `value` with every text a person could have written replaced; ids, times, kinds and units stay."""
    keep = {"time_zone", "units", "unit", "reason", "rank", "origin", "site", "crew", "after", "kind", "optimal", "id"}
    keep |= {"material", "vehicle", "fullest_kg_at", "fullest_litres_at", "shape", "to"}
    if isinstance(value, dict):
        return {key: inner if key in keep else _replaced(inner, text) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return tuple(_replaced(inner, text) for inner in value)
    return text if isinstance(value, str) else value


def hostile_round(text: str = HOSTILE) -> Round:
    """Return the sample with `text` in every field that is text, and its shape otherwise unchanged."""
    whole = sample_round(cautions=("x",)).model_dump()
    return Round.model_validate(_replaced(whole, text))


def numbered(round_: Round) -> Round:
    """Return the round with an id of its own for each job, as `jobs.csv:2` and so on down the file."""
    whole = round_.model_dump()
    stops = [stop for itinerary in whole["itineraries"] for stop in itinerary["stops"]]
    for row, planned in enumerate((each for stop in stops for each in stop["jobs"]), 2):
        planned["id"] = f"jobs.csv:{row}"
    return Round.model_validate(whole)
