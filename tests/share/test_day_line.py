"""The day line: nothing of the day is missing, nothing overlaps, and letters say the same as the picture."""

from __future__ import annotations

import datetime as dt
import io
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from rich.console import Console

from routing.round import Break, Chance, Round
from routing.share.pages.day_line_svg import PAPER, PHONE, day_line_svg, shown_kinds
from routing.share.pages.helper_page import helper_page
from routing.share.pages.inline import environment
from routing.share.pages.page import round_page
from routing.share.terminal.day_line_text import day_line_lines
from routing.share.terminal.terminal import print_round
from routing.share.wording.day_line import DayLine, day_line
from routing.share.wording.sheet import round_sheet
from tests.share.browser import CHROMIUM, Opener
from tests.share.sample import DATE, alder, hostile_round, sample_round

DEMO = Path(__file__).parents[2] / "examples" / "hollin-vale"
chromium = pytest.mark.skipif(not Path(CHROMIUM).exists(), reason="no Chromium here")


def line_of(index: int = 0) -> DayLine:
    round_ = sample_round()
    return day_line(round_, index, round_sheet(round_).crews[index])


def test_the_spans_of_a_planned_day_follow_each_other_without_a_gap_from_loading_to_home(
    hollin_vale: Round,
) -> None:
    (day,) = hollin_vale.itineraries
    assert any(stop.rest for stop in day.stops)
    spans = [span for row in day_line(hollin_vale, 0, round_sheet(hollin_vale).crews[0]).rows for span in row.spans]
    assert all(before.end == after.begin for before, after in pairwise(spans))
    assert spans[-1].end - spans[0].begin == (day.home - day.load_from).total_seconds()


def test_the_sky_has_no_gap_and_its_twilight_is_that_of_the_base() -> None:
    """Source of the check: civil twilight at 52.6 north in mid-December is 36 to 44 minutes long."""
    line = line_of()
    assert [span.kind for span in line.sky] == ["night", "twilight", "day", "twilight", "night"]
    assert line.sky[0].begin == 0
    assert line.sky[-1].end == line.seconds
    assert all(before.end == after.begin for before, after in pairwise(line.sky))
    assert all(36 * 60 <= span.end - span.begin <= 44 * 60 for span in line.sky if span.kind == "twilight")


@pytest.mark.parametrize(("latitude", "month", "kinds"), [(70, 6, ["day"]), (80, 12, ["night"])])
def test_where_the_sun_does_not_set_or_rise_the_sky_is_one(latitude: float, month: int, kinds: list[str]) -> None:
    def moved(moment: dt.datetime) -> dt.datetime:
        return moment.replace(month=month, day=18)

    day = alder()
    stops = tuple(
        stop.model_copy(
            update={
                **{name: moved(getattr(stop, name)) for name in ("arrive", "start", "finish")},
                **{name: moved(getattr(stop, name)) for name in ("window_opens", "window_closes")},
                "rest": None if stop.rest is None else Break(start=moved(stop.rest.start), seconds=stop.rest.seconds),
            }
        )
        for stop in day.stops
    )
    ends = {name: moved(getattr(day, name)) for name in ("load_from", "leave", "home", "home_by")}
    day = day.model_copy(update={"stops": stops, "date": DATE.replace(month=month), **ends})
    round_ = sample_round(itineraries=(day,), base_latitude=latitude)
    assert [span.kind for span in day_line(round_, 0, round_sheet(round_).crews[0]).sky] == kinds


def test_the_chance_stands_at_home_where_one_crew_s_day_is_all_of_the_round() -> None:
    """69.9 % is told as 69 %: never better than it is."""
    chance = Chance(days=10_000, musts=0.8, whole=0.699, text="")
    one = sample_round(itineraries=(alder(),), chance=chance)
    line = day_line(one, 0, round_sheet(one).crews[0])
    assert line.rows[-1].told == "in time 69 % (simulated)"
    assert "in time 69 % (simulated)" in str(day_line_svg(line, PHONE))
    assert line.title.endswith("in time 69 % (simulated)")
    two = sample_round(chance=chance)
    assert day_line(two, 0, round_sheet(two).crews[0]).rows[-1].told == ""
    assert line_of().rows[-1].told == ""


def test_a_long_name_is_cut_before_the_light_that_is_left() -> None:
    round_ = sample_round()
    crew = round_sheet(round_).crews[0]
    stops = tuple(replace(stop, name="Meadow behind the old mill by the upper weir") for stop in crew.stops)
    svg = str(day_line_svg(day_line(round_, 0, replace(crew, stops=stops)), PHONE))
    for stop in stops:
        assert f"\u2026, {stop.light_left} left<" in svg


def test_letters_have_one_column_for_each_moment_and_every_stop() -> None:
    line = line_of()
    hours, sky, light, day, key = day_line_lines(line)
    assert len(sky) == len("Sky    ") + round(line.seconds / 600)
    assert all(len(text) <= 80 for text in (hours, sky, light, day))
    assert [mark for mark in "1234" if mark in day] == ["1", "2", "3", "4"]
    assert "night" in key
    eight = hours.index("08")
    assert day[eight] == "w"  # at Mill Bank from 08:02, where work begins at 08:20
    assert day[eight - 1] == "-"
    assert sky[eight] == ":"


def test_a_stop_briefer_than_a_column_still_has_its_letter() -> None:
    day = alder()
    first = day.stops[0].model_copy(update={"finish": day.stops[0].start + dt.timedelta(seconds=20)})
    round_ = sample_round(itineraries=(day.model_copy(update={"stops": (first, *day.stops[1:])}),))
    assert "1" in day_line_lines(day_line(round_, 0, round_sheet(round_).crews[0]))[3]


def test_the_terminal_has_it_in_full() -> None:
    out = io.StringIO()
    print_round(sample_round(), Console(file=out, width=80))
    for text in day_line_lines(line_of())[:4]:
        assert text in out.getvalue()


def test_the_key_names_what_is_drawn_and_nothing_else() -> None:
    kinds = [kind for kind, _ in shown_kinds(line_of())]
    spans = {span.kind for row in line_of().rows for span in row.spans}
    assert set(kinds) == spans | {"night", "twilight", "day", "light"}


def test_names_are_text_and_nothing_more() -> None:
    round_ = hostile_round()
    crew = round_sheet(round_).crews[0]
    svg = str(day_line_svg(day_line(round_, 0, crew), PAPER))
    assert "<img" not in svg
    assert "<script" not in svg


BOXES = """() => Array.from(document.querySelectorAll(".day-line")).filter((each) => each.getBoundingClientRect().width > 0)
  .map((svg) => {
    const whole = svg.getBoundingClientRect();
    const texts = Array.from(svg.querySelectorAll("text")).map((each) => each.getBoundingClientRect());
    const bars = Array.from(svg.querySelectorAll("rect.span-work, rect.span-load, rect.span-break"))
      .map((each) => each.getBoundingClientRect());
    const meet = (a, b) => a.left < b.right - 0.5 && b.left < a.right - 0.5 && a.top < b.bottom - 2 && b.top < a.bottom - 2;
    const among = texts.flatMap((one, n) => texts.slice(n + 1).filter((other) => meet(one, other))).length;
    const on = texts.flatMap((one) => bars.filter((bar) => meet(one, bar))).length;
    const out = texts.filter((each) => each.left < whole.left - 1 || each.right > whole.right + 1).length;
    return [texts.length, among, on, out];
  })"""


@chromium
@pytest.mark.parametrize("width", [360, 1280])
def test_its_words_lie_neither_on_each_other_nor_on_bars_nor_outside(opened: Opener, width: int) -> None:
    for html in (helper_page(sample_round(), 0), round_page(sample_round())):
        found = opened(html, width).evaluate(BOXES)
        assert found
        for texts, among, on, out in found:
            assert texts > 5
            assert (among, on, out) == (0, 0, 0)


def test_the_phone_s_picture_is_a_phone_wide() -> None:
    assert f'viewBox="0 0 {PHONE} ' in helper_page(sample_round(), 0)


def test_the_picture_is_compiled_once_however_many_days_are_drawn() -> None:
    """Sixty-eight days of crews, each for phone and paper, took 2.3 s of the processor for it alone."""
    assert environment().get_template("day_line.svg") is environment().get_template("day_line.svg")
