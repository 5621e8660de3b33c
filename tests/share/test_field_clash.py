"""Musts of the rest of a day that are said to clash: the page's search of all sets in all orders finds no day for them."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Page

from routing.errors import AskedError
from routing.farm.models import Rank
from routing.planning.ask import rest_round
from routing.planning.explain.infeasible_subset import clash_sentence
from routing.planning.model.instance import Instance
from routing.share.pages.inline import template_text
from routing.stages import ask as ask_stage
from tests.share.browser import CHROMIUM
from tests.share.field_days import CREW, JUNE, FieldDay, field_day
from tests.share.test_field_replan import asked
from tests.together import then_deep

pytestmark = pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no chromium on this computer")

HELD = """([{given, state, start, now, said}, clash]) => {
  const on = fieldState(given, {state});
  const counted = on.counted().amounts;
  given.field.materials.forEach((each, at) => {
    if (each.id in said) state.field.board[each.id] = String(Math.round(said[each.id] * 1000 - counted[at]));
  });
  const {asked, where} = on.problem({kind: "stop", from: start}, now);
  const named = (at, number) => on.jobsOf(where[at].index)[where[at].jobs[number]].id;
  const all = (ids) => {
    const stops = asked.stops.map((stop, at) => ({...stop, jobs: stop.jobs.map((job, number) => (
      {...job, hives: 0, weight: 1, rank: ids.includes(named(at, number)) ? 0 : 3}))}));
    const {exact, score} = fieldAnswer().search({...asked, stops});
    return {exact, done: score[0] === ids.length};
  };
  return {whole: all(clash), less: clash.map((id) => all(clash.filter((other) => other !== id)))};
}"""


@pytest.mark.parametrize(("first", "many"), then_deep([(0, 60)], [(5000, 150), (5150, 150)]))
def test_musts_that_clash_are_held_by_no_day_and_without_any_one_of_them_by_one(
    phone: Page, monkeypatch: pytest.MonkeyPatch, first: int, many: int
) -> None:
    """All jobs are musts, some hours later than planned; breaks, windows, short materials, half with a trip left."""
    told: list[list[str]] = []

    def telling(instance: Instance, clash: Sequence[int]) -> str:
        told.append([instance.jobs[task].id for task in clash])
        return clash_sentence(instance, clash)

    monkeypatch.setattr(rest_round, "clash_sentence", telling)
    phone.add_script_tag(content="".join(map(template_text, ("field_start.js", "field_state.js"))))
    compared = 0
    for seed in range(first, first + many):
        day = field_day(seed, (6, 8))
        late = None if day is None else all_musts_and_late(day, 3 + seed % 6)
        if late is None:
            continue
        told.clear()
        try:
            rounds = ask_stage.rest(late.farm, JUNE, CREW, late.moment)
        except AskedError:  # more on board than may be
            continue
        assert bool(told) == bool(rounds[0].clash)
        assert not any(rest.clash for rest in rounds[1:])
        for clash in told:
            answer = phone.evaluate(HELD, [asked(late), clash])
            if answer["whole"]["exact"]:
                compared += 1
                assert not answer["whole"]["done"]
                assert all(less["done"] for less in answer["less"])
    assert compared > 5


def all_musts_and_late(day: FieldDay, hours: int) -> FieldDay | None:
    at = dt.datetime.combine(JUNE, day.moment.at) + dt.timedelta(hours=hours)
    jobs = tuple(job.model_copy(update={"rank": Rank.MUST}) for job in day.farm.jobs)
    farm = day.farm.model_copy(update={"jobs": jobs})
    return replace(day, farm=farm, moment=replace(day.moment, at=at.time())) if at.date() == JUNE else None
