"""What a forecast leaves of the light: reckoned here by hand, with planning and check agreeing on random farms."""

import datetime as dt
import random
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.check import broken_promises
from routing.check.ground import Ground
from routing.check.weather import without_bad_weather
from routing.farm.forecast import Forecast, Spell
from routing.farm.kinds import load_catalogue
from routing.farm.models import Farm, LightNeed
from routing.planning.model.build_instance import build_instance
from routing.planning.plan import plan_days
from routing.round import ReasonCode
from routing.stages.plan import plan
from routing.travel.farm import farm_legs
from routing.weather.frost import before_the_frost, first_frost
from routing.weather.limits import Limits, WorkNeed, covers, limits_of, work_need, work_windows
from routing.weather.report import age_words, weather_sentences
from tests.check.small_farm import FARM, LEGS, WEDNESDAY, farm_with
from tests.random_farms import random_farm
from tests.together import then_deep

UTC = dt.UTC
LONDON = ZoneInfo("Europe/London")
HILL = FARM.sites[0]
MILL = FARM.sites[1]


def hours_of(date: dt.date, warmth: dict[int, float], rain: dict[int, float] | None = None) -> Forecast:
    """Return 24 hours (London winter time is universal time), 5 °C where nothing else is said, dry and still."""
    midnight = dt.datetime.combine(date, dt.time(), tzinfo=UTC)
    return Forecast(
        spells=tuple(
            Spell(
                begins=midnight + dt.timedelta(hours=hour),
                ends=midnight + dt.timedelta(hours=hour + 1),
                temperature_c=warmth.get(hour, 5),
                rain_mm_an_hour=(rain or {}).get(hour, 0),
                wind_kmh=10,
            )
            for hour in range(24)
        ),
        source="invented for tests",
    )


def clocks(farm: Farm, need: WorkNeed, site: str = "hill") -> list[tuple[str, str]]:
    windows = work_windows(farm, farm.site(site), WEDNESDAY, LONDON, [need])
    return [(f"{window.opens:%H:%M}", f"{window.closes:%H:%M}") for window in windows]


WARM = WorkNeed(LightNeed.ANY, Limits(coldest_c=10))


def test_only_the_warm_hours_are_left() -> None:
    """11:00 to 13:00 and 14:00 to 15:00 have 10 °C or more; 13:00 to 14:00 has 9.9. After midnight nothing is known."""
    forecast = hours_of(WEDNESDAY, {11: 10, 12: 12, 13: 9.9, 14: 11})
    farm = FARM.model_copy(update={"forecast": forecast})
    assert clocks(farm, WARM) == [("11:00", "13:00"), ("14:00", "15:00"), ("00:00", "12:00")]
    assert clocks(farm, WorkNeed(LightNeed.ANY)) == [("00:00", "12:00")]


def test_opening_hours_and_warm_hours_are_cut_with_each_other() -> None:
    """The mill is open 09:00 to 12:00 and 13:30 to 17:00."""
    farm = FARM.model_copy(update={"forecast": hours_of(WEDNESDAY, dict.fromkeys(range(11, 15), 10))})
    assert clocks(farm, WARM, "mill") == [("11:00", "12:00"), ("13:30", "15:00")]


def test_rain_and_wind_cut_too() -> None:
    forecast = hours_of(WEDNESDAY, dict.fromkeys(range(24), 15), {12: 0.2})
    farm = FARM.model_copy(update={"forecast": forecast})
    dry = WorkNeed(LightNeed.DAYLIGHT, Limits(wettest_mm_an_hour=0.1))
    assert [opens for opens, _ in clocks(farm, dry)][1:] == ["13:00"]
    assert clocks(farm, WorkNeed(LightNeed.DAYLIGHT, Limits(windiest_kmh=9))) == []


def test_windows_close_as_much_sooner_as_the_farm_wants() -> None:
    """Twenty minutes off each window: 11:00 to 12:00 becomes 11:40, and one of a quarter of an hour is gone."""
    early = FARM.rules.model_copy(update={"finish_early_minutes": 20})
    spells = hours_of(WEDNESDAY, {11: 10}).spells
    forecast = Forecast(spells=spells, source="invented")
    farm = FARM.model_copy(update={"forecast": forecast, "rules": early})
    assert clocks(farm, WARM)[0] == ("11:00", "11:40")
    hour = farm.model_copy(update={"rules": FARM.rules.model_copy(update={"finish_early_minutes": 60})})
    assert clocks(hour, WARM)[0] == ("00:00", "11:00")


def test_the_catalogue_keeps_hives_shut_in_cold_rain_and_wind() -> None:
    kinds = load_catalogue().job_kinds
    assert limits_of(kinds["weekly-inspection"]) == Limits(14, 0.1, 24)
    assert limits_of(kinds["fondant"]) == Limits()
    assert {kind.id for kind in kinds.values() if kind.before_frost} == {"mouse-guards", "woodpecker-netting"}
    for kind in kinds.values():
        assert (kind.max_rain_mm_an_hour is None) == (not kind.rain_source)
        assert (kind.max_wind_kmh is None) == (not kind.wind_source)


def test_without_a_forecast_the_weather_has_no_say() -> None:
    kind = FARM.job_kinds["guards"].model_copy(update={"min_temperature_c": 14.0})
    assert work_need(FARM, kind) == WorkNeed(LightNeed.TWILIGHT)
    assert weather_sentences(FARM, WEDNESDAY) == ("No weather forecast is used: look at the sky before leaving.",)


def test_a_forecast_of_other_days_is_said_and_cuts_nothing() -> None:
    farm = FARM.model_copy(update={"forecast": hours_of(WEDNESDAY + dt.timedelta(days=3), {})})
    assert "does not reach this date" in weather_sentences(farm, WEDNESDAY)[0]
    assert clocks(farm, WARM) == [("00:00", "12:00")]


def test_a_gap_and_a_frost_are_said() -> None:
    forecast = hours_of(WEDNESDAY, {6: -1})
    half = forecast.model_copy(update={"spells": forecast.spells[:10]})
    kind = FARM.job_kinds["guards"].model_copy(update={"before_frost": True})
    farm = FARM.model_copy(update={"forecast": half, "job_kinds": {**FARM.job_kinds, "guards": kind}})
    said = " ".join(weather_sentences(farm, WEDNESDAY))
    assert "does not cover all of the day" in said
    assert "Frost is forecast for Wednesday 3 December 2025" in said
    assert not covers(half, forecast.spells[0].begins, forecast.spells[10].ends)
    assert covers(half, forecast.spells[0].begins, forecast.spells[9].ends)


def test_what_belongs_before_the_frost_is_due_the_day_before() -> None:
    kind = FARM.job_kinds["guards"].model_copy(update={"before_frost": True})
    farm = FARM.model_copy(
        update={"forecast": hours_of(WEDNESDAY, {6: -0.1}), "job_kinds": {**FARM.job_kinds, "guards": kind}}
    )
    assert first_frost(hours_of(WEDNESDAY, {6: 0}), LONDON) is None
    due = {job.id: job.due_by for job in before_the_frost(farm).jobs}
    assert due["jobs.csv:3"] == due["jobs.csv:11"] == dt.date(2025, 12, 2)
    assert due["jobs.csv:2"] == dt.date(2025, 12, 1)
    assert due["jobs.csv:4"] is None


def test_a_job_kept_by_the_cold_is_left_out_for_the_weather_and_the_check_agrees() -> None:
    farm = farm_with(FARM, "job_kinds", "fondant", min_temperature_c=10.0)
    cold = farm.model_copy(update={"forecast": hours_of(WEDNESDAY, {})})
    round_ = plan_days(build_instance(cold, LEGS, (WEDNESDAY,)))
    reasons = {left.site: left.reason for left in round_.left_out}
    assert reasons["mill"] == reasons["hill"] == ReasonCode.WEATHER
    assert broken_promises(round_, cold, LEGS) == ()
    lie = round_.model_copy(
        update={
            "left_out": tuple(
                left.model_copy(update={"reason": ReasonCode.WEATHER}) if left.site == "gate" else left
                for left in round_.left_out
            )
        }
    )
    assert any("gate" in line and "reason" in line for line in broken_promises(lie, cold, LEGS))


def test_the_check_refuses_a_plan_made_without_the_forecast() -> None:
    farm = farm_with(FARM, "job_kinds", "fondant", min_temperature_c=10.0)
    blind = plan_days(build_instance(farm, LEGS, (WEDNESDAY,)))
    cold = farm.model_copy(update={"forecast": hours_of(WEDNESDAY, {})})
    assert broken_promises(blind, farm, LEGS) == ()
    assert any("the window is the site's" in line for line in broken_promises(blind, cold, LEGS))


def random_weather(dice: random.Random, date: dt.date) -> Forecast:
    begins = dt.datetime.combine(date, dt.time(), tzinfo=UTC) - dt.timedelta(hours=14)
    spells = []
    for _ in range(dice.randint(1, 40)):
        begins += dt.timedelta(minutes=dice.choice([0, 0, 0, 0, 45]))
        ends = begins + dt.timedelta(minutes=dice.choice([20, 60, 60, 180]))
        spells.append(
            Spell(
                begins=begins,
                ends=ends,
                temperature_c=dice.choice([-2, 3, 8, 10, 13, 14, 15, 20, 20]),
                rain_mm_an_hour=dice.choice([0, 0, 0, 0.1, 2]),
                wind_kmh=dice.choice([5, 10, 15, 24, 30]),
            )
        )
        begins = ends
    return Forecast(spells=tuple(spells), source="invented for tests")


def weathered(seed: int) -> tuple[Farm, dt.date]:
    farm, date = random_farm(seed)
    dice = random.Random(seed)
    early = farm.rules.model_copy(update={"finish_early_minutes": dice.choice([0, 0, 12.5, 45])})
    sites = tuple(site.model_copy(update={"pace": dice.choice([1, 0.85, 1.333])}) for site in farm.sites)
    crews = tuple(crew.model_copy(update={"pace": dice.choice([1, 0.9, 1.217])}) for crew in farm.crews)
    changed = {"forecast": random_weather(dice, date), "rules": early, "sites": sites, "crews": crews}
    return before_the_frost(farm.model_copy(update=changed)), date


@pytest.mark.parametrize("seed", then_deep(range(5000, 5020), range(5000, 5040)))
def test_random_farms_in_random_weather_pass_the_check(seed: int) -> None:
    farm, date = weathered(seed)
    assert plan(farm, date).dates == (date,)


@given(st.integers(0, 10**6))
@settings(deadline=None)
def test_planning_and_check_cut_every_window_alike(seed: int) -> None:
    """Two ways of cutting, written apart, agree for every set of jobs; and no kept second breaks a limit."""
    farm, date = weathered(seed)
    ground, zone = Ground.of(farm, farm_legs(farm)), ZoneInfo(farm.time_zone)
    for site in farm.sites:
        jobs = [job for job in farm.jobs if job.site == site.id]
        if not jobs:
            continue
        needs = {work_need(farm, farm.job_kinds[job.kind]) for job in jobs}
        planned = {
            (int(window.opens.timestamp()), int(window.closes.timestamp()))
            for window in work_windows(farm, site, date, zone, needs)
        }
        assert planned == set(ground.spans(site, date, ground.needs(jobs)))


def test_pieces_that_touch_are_one_and_two_spans_stay_two() -> None:
    forecast = hours_of(dt.date(1970, 1, 1), dict.fromkeys(range(24), 20.0))
    kind = load_catalogue().job_kinds["weekly-inspection"]
    assert without_bad_weather([(0, 7200), (7200, 9000)], forecast, [kind]) == [(0, 7200), (7200, 9000)]


@pytest.mark.parametrize(("minutes", "words"), [(-5, "0 min"), (119, "119 min"), (120, "2 hours"), (2880, "2 days")])
def test_age_in_words(minutes: int, words: str) -> None:
    now = dt.datetime(2026, 4, 1, 12, tzinfo=UTC)
    assert age_words(now - dt.timedelta(minutes=minutes), now) == words
