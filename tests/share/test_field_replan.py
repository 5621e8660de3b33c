"""The page and `replan` give one answer, on whole farms; and what `replan` knows of the van."""

import datetime as dt
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from routing.errors import AskedError
from routing.farm.folder import read_farm
from routing.farm.parts import part_of
from routing.planning.ask import rest_round
from routing.planning.ask.moment import Moment
from routing.planning.ask.rest_of_day import jobs_left
from routing.planning.explain.outcome import left_out_entries
from routing.planning.itineraries import build_round
from routing.planning.model.instance import Instance
from routing.planning.plan import Wish
from routing.round import Proof, Round
from routing.share.pages.inline import template_text
from routing.stages import ask as ask_stage
from routing.stages import plan as plan_stage
from tests.moving_farm import SUMMER, moving_farm
from tests.share.browser import CHROMIUM
from tests.share.field_days import CREW, RARE, SEARCH, USUAL, FieldDay, field_day
from tests.share.field_days import JUNE as DAY
from tests.share.field_oracle import best_by_hand
from tests.together import then_deep

FARM = read_farm(Path("examples/four-sites"))
JUNE = dt.date(2026, 6, 10)
FED = FARM.model_copy(update={"jobs": tuple(job.model_copy(update={"kind": "fondant"}) for job in FARM.jobs)})

ASKED = """days => days.map(({given, state, start, now, said}) => {
  const on = fieldState(given, {state});
  const counted = on.counted().amounts;
  given.field.materials.forEach((each, at) => {
    if (each.id in said) state.field.board[each.id] = String(Math.round(said[each.id] * 1000 - counted[at]));
  });
  if (on.overload()) return null;
  const {asked, where} = on.problem({kind: "stop", from: start}, now);
  const {exact, day, part, score} = fieldAnswer().search(asked);
  const hives = (at, job) => part && part.stop === at && part.job === job ? part.hives : on.hivesLeft(on.jobsOf(where[at].index)[where[at].jobs[job]]);
  const named = stop => stop.jobs.map(job => [on.jobsOf(where[stop.stop].index)[where[stop.stop].jobs[job]].id, hives(stop.stop, job)]);
  const at = day.rest && !day.rest.atBase ? asked.stops[day.stops[day.rest.stop].stop].last : false;
  return {asked, exact, score, suspect: Boolean(at), home: day.home, again: day.stops.some(stop => stop.again), part: Boolean(part), jobs: Object.fromEntries(day.stops.flatMap(named))};
})"""


@pytest.fixture(scope="module")
def phone(browser: Browser) -> Iterator[Page]:
    page = browser.new_page()
    page.add_script_tag(content="".join(map(template_text, (*SEARCH, "field_start.js", "field_state.js"))))
    yield page
    page.close()


def asked(day: FieldDay) -> dict[str, Any]:
    now = day.moment.at.hour * 3600 + day.moment.at.minute * 60
    return {
        "given": day.given,
        "state": day.state,
        "start": day.start,
        "now": now,
        "said": dict(day.moment.on_board or {}),
    }


def told(rounds: tuple[Round, ...]) -> tuple[dict[str, int], int | None]:
    """Return the hives that are done by job, and when the crew is home, in seconds from midnight."""
    days = [day for rest in rounds for day in rest.itineraries]
    jobs = {part_of(job.id).whole: job.hives for day in days for stop in day.stops for job in stop.jobs}
    if not days:
        return jobs, None
    home = days[-1].home
    return jobs, home.hour * 3600 + home.minute * 60 + home.second + 86_400 * (home.date() - DAY).days


def same_answers(
    phone: Page,
    seeds: Iterable[int],
    visits: tuple[int, int] = (6, 20),
    often: dict[str, Any] = USUAL,
    wish: Wish | None = None,
) -> list[dict[str, Any]]:
    """Ask the page and `replan` of random days, hold that they answer alike, and return what the page said."""
    days = [day for seed in seeds if (day := field_day(seed, visits, often)) is not None]
    answers = phone.evaluate(ASKED, [asked(day) for day in days])
    for day, answer in zip(days, answers, strict=True):
        if answer is None:  # more on board than may be
            with pytest.raises(AskedError, match="on board would be"):
                ask_stage.rest(day.farm, DAY, CREW, day.moment)
            continue
        rest = ask_stage.rest(day.farm, DAY, CREW, day.moment, wish=wish)
        jobs, home = told(rest)
        assert [one.faults for one in rest] == [()] * len(rest)
        assert jobs == answer["jobs"]
        if answer["exact"] or not answer["again"]:  # by base a beam may have two breaks that are as good until then
            assert home in {None, answer["home"]}
        assert rest[0].proof.optimal == answer["exact"]
    return [answer for answer in answers if answer is not None]


@pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer")
def test_the_page_and_replan_agree_where_they_once_did_not(phone: Page) -> None:
    """Each of these days was once another answer or a fault; what would save left-out work is not sought here."""
    seeds = (83, 92, 154, 176, 271, 1002, 1072, 1082, 1109, 2009, 2014, 2027, 3297)
    assert same_answers(phone, seeds, wish=Wish(explained=False))


@pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer")
@pytest.mark.parametrize("first", then_deep([0], range(3000, 3300, 20)))
def test_the_page_and_replan_give_one_answer(phone: Page, first: int) -> None:
    """The same hives of the same jobs, home in the same second, on 300 random moments of days of 6 to 20 visits."""
    assert len(same_answers(phone, range(first, first + 20))) > 10


@pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer")
@pytest.mark.parametrize("first", then_deep([7000], range(7020, 7200, 20)))
def test_they_agree_where_much_that_is_rare_comes_together(phone: Page, first: int) -> None:
    assert len(same_answers(phone, range(first, first + 20), (6, 13), RARE)) > 10


@pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer")
@pytest.mark.parametrize("first", then_deep([0], range(100, 300, 20)))
def test_both_are_as_good_as_trying_everything(phone: Page, first: int) -> None:
    """On days of 7 visits: every order of every set, with loads held as if at once or as they come on and off."""
    compared = alike = 0
    for answer in same_answers(phone, range(first, first + 20), (7, 7)):
        if sum(len(stop["jobs"]) for stop in answer["asked"]["stops"]) > 6:
            continue
        here = (tuple(answer["score"]), not answer["suspect"], -answer["home"])
        least, most = (best_by_hand(answer["asked"], at_once=at_once) for at_once in (True, False))
        assert answer["exact"]
        assert bool(answer["jobs"]) == (least is not None)
        if least is not None and most is not None:
            assert least <= here <= most  # the same, but where a trip from base has more room as it goes
            alike += least == most
        compared += 1
    assert alike > compared // 2 > 1


def test_what_is_not_said_is_on_board_as_the_plan_loaded_it_less_what_is_done() -> None:
    """50 kg for four sites of 12.5; with two done 25 are left, also where something else is said of another material."""
    planned = plan_stage.plan(FED, JUNE)
    moment = Moment(at=dt.time(9), here="B", done=["A", "B"], on_board={"syrup": 1}, planned=planned)
    rest = ask_stage.replan(FED, JUNE, "one", moment)
    assert {item.material: item.amount for item in rest.itineraries[0].load.out} == {"fondant": 25.0, "syrup": 1.0}
    assert rest.start is not None
    assert rest.start.counted
    assert {stop.site for stop in rest.itineraries[0].stops} == {"C", "D"}


def test_remedies_are_sought_only_where_they_are_asked_for() -> None:
    """At 10:00 not all fits any more: the same rest of the day, with what would save the others or without."""
    moment = Moment(at=dt.time(10), here="B", done=["B"])
    explained, bare = (ask_stage.replan(FARM, JUNE, "one", moment, wish=wish) for wish in (None, Wish(explained=False)))
    assert any(entry.remedies for entry in explained.left_out)
    without = [entry.model_copy(update={"remedies": ()}) for entry in explained.left_out]
    assert bare == explained.model_copy(update={"left_out": tuple(without)})


def test_half_done_hives_are_taken_off_and_what_is_done_of_them_is_no_longer_on_board() -> None:
    """3 of 5 hives at C done: 2 are left, and 50 - 12.5 - 7.5 = 30 kg are on board."""
    planned = plan_stage.plan(FED, JUNE)
    rest = ask_stage.replan(
        FED, JUNE, "one", Moment(at=dt.time(9), here="C", done=["B", "C:fondant=3"], planned=planned)
    )
    assert {job.id: job.hives for stop in rest.itineraries[0].stops for job in stop.jobs}["jobs.csv:4"] == 2
    assert rest.itineraries[0].load.out[0].amount == 30.0
    with pytest.raises(AskedError, match="0 to 5"):
        jobs_left(FED, ["C=6"])


def test_a_crew_with_the_day_off_is_asked_about() -> None:
    off = FARM.crews[0].model_copy(update={"days_off_dates": frozenset({JUNE})})
    farm = FARM.model_copy(update={"crews": (off,)})
    moment = Moment(at=dt.time(9), here="B", done=["A", "B"])
    with pytest.raises(AskedError, match="is it out all the same"):
        ask_stage.replan(farm, JUNE, "one", moment)
    out = Moment(at=dt.time(9), here="B", done=["A", "B"], day_off=True)
    assert len(ask_stage.replan(farm, JUNE, "one", out).itineraries[0].stops) == 2


def test_hives_on_board_are_set_down() -> None:
    """Four hives from Ridge, on the van at 22:40: 20 min on to Hollow Lane, 20 of set-up, 4 x 6 / hands of work."""
    farm = moving_farm()
    planned = plan_stage.plan(farm, SUMMER)
    moment = Moment(at=dt.time(22, 40), here="ridge", done=["mill"], hives=["ridge"], planned=planned)
    rest = ask_stage.replan(farm, SUMMER, "ash", moment)
    assert rest.faults == ()
    (stop,) = rest.itineraries[0].stops
    assert (stop.site, stop.jobs[0].hives, stop.jobs[0].rank.value) == ("hollow", 4, "now")
    assert f"{stop.arrive:%H:%M}" == "23:00"


@pytest.mark.parametrize("poor", [True, False])
def test_beyond_what_a_beam_holds_the_better_of_both_searches_is_told(
    monkeypatch: pytest.MonkeyPatch, *, poor: bool
) -> None:
    """Whether a whole day's search finds nothing or all, the rest of the day is never worse than the page's own way."""
    planned = plan_stage.plan(FARM, JUNE)
    moment = Moment(at=dt.time(9), here="B", done=["A", "B"], planned=planned)
    expected = ask_stage.replan(FARM, JUNE, "one", moment)
    monkeypatch.setattr(ask_stage, "rest_rounds", lambda *_: None)
    if poor:
        monkeypatch.setattr(ask_stage, "plan_days", _nothing_done)
    rest = ask_stage.replan(FARM, JUNE, "one", moment)
    assert rest.faults == ()
    assert [stop.site for stop in rest.itineraries[0].stops] == [stop.site for stop in expected.itineraries[0].stops]
    assert (rest.proof.text == rest_round.TOO_MUCH) is poor


def _nothing_done(instance: Instance, *_: object) -> Round:
    proof = Proof(optimal=False, text="", weight_scale=instance.weight_scale)
    return build_round(instance, ((),), left_out_entries(instance, ((),), {}), proof)
