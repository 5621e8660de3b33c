"""The season's page: whole, inert, the same for who sees no colour, and on paper as on a phone."""

import base64
import datetime as dt
import hashlib
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playwright.sync_api import Browser

from routing.share.pages.season_page import SIGNS, calendars, headline, lists, season_page
from routing.share.pages.season_plots import HEIGHT, WIDTH, feed_plot, minutes_plot, round_top
from routing.share.wording.season import Entry, FeedRow, MinutesRow, State
from tests.share.browser import Opener, no_sideways_scroll
from tests.share.html_reader import Page
from tests.share.sample import HOSTILE, SEEN
from tests.share.season_sample import FIRST, LAST, SITES, TODAY, sample_season


def test_the_page_may_load_nothing_and_run_nothing() -> None:
    page = Page(season_page(sample_season()))
    digest = base64.b64encode(hashlib.sha256(page.styles[0].encode()).digest()).decode()
    assert page.policy().startswith("default-src 'none'")
    assert f"style-src 'sha256-{digest}'" in page.policy()
    assert "unsafe" not in page.policy()
    assert page.count("script") == 0
    for _, attributes in page.tags:
        assert not {"src", "href", "style", "onclick", "onerror"} & set(attributes)


def test_every_entry_stands_in_its_week_with_its_sign_and_words() -> None:
    """1 November 2026 is a Sunday: it belongs to the week that begins on Monday 26 October."""
    season = sample_season(entries=(Entry("Mill Bank", "Heft", dt.date(2026, 11, 1), State.OVERDUE),))
    (table,) = calendars(season)
    name, cells = table.rows[0]
    place = next(i for i, cell in enumerate(cells) if cell.marks)
    assert (name, table.weeks[place].day, table.weeks[place].words) == (
        "Mill Bank",
        "26",
        "week of Monday 26 October 2026",
    )
    (mark,) = cells[place].marks
    assert (mark.sign, mark.words) == ("!", "overdue: Heft")
    assert [week.day for week in table.weeks if week.now] == ["30"]
    assert len({*SIGNS.values()}) == len(State)


@given(
    st.lists(
        st.builds(
            Entry,
            st.sampled_from((*SITES, "Sold last year")),
            st.sampled_from(("Heft", "Feed")),
            st.dates(FIRST, LAST),
            st.sampled_from(list(State)),
        ),
        max_size=40,
    ),
    st.integers(0, 60),
)
@settings(deadline=None)
def test_no_entry_is_lost_on_the_way_to_the_table(entries: list[Entry], weeks: int) -> None:
    last = LAST + dt.timedelta(weeks=weeks)
    season = sample_season(entries=tuple(entries), last=last)
    tables = calendars(season)
    shown = sum(mark.how_many for table in tables for _, row in table.rows for cell in row for mark in cell.marks)
    assert shown == len(entries)
    assert all(len(table.weeks) <= 26 for table in tables)
    told = {state: sum(entry.state is state for entry in entries) for state in State}
    assert [len(lines) for _, lines in lists(season)] == [told[State.OVERDUE], told[State.DUE]]
    assert all(f"{number} {state}" in headline(season) for state, number in told.items() if number)


def test_a_season_that_ends_before_it_begins_or_never_ends_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot end before"):
        calendars(sample_season(last=FIRST - dt.timedelta(days=1)))
    with pytest.raises(ValueError, match="ten years at most"):
        calendars(sample_season(last=dt.date(2100, 1, 1)))


def test_hostile_names_make_no_element_and_can_be_read() -> None:
    calm = Page(season_page(sample_season()))
    row = MinutesRow(HOSTILE, 2, 2.5, ())
    feed = FeedRow(HOSTILE, (TODAY,), (9,), (8,), (10,), (5,))
    entries = (*sample_season().entries, Entry(HOSTILE, HOSTILE, TODAY, State.DUE))
    wild = Page(season_page(sample_season(farm=HOSTILE, minutes=(row,), feed=(feed,), entries=entries)))
    assert {tag for tag, _ in wild.tags} <= {tag for tag, _ in calm.tags}
    assert wild.count("script") == wild.count("img") == 0
    assert SEEN in wild.text


def test_an_empty_season_has_a_page_and_the_same_season_gives_the_same_bytes() -> None:
    empty = Page(season_page(sample_season(entries=(), minutes=(), feed=())))
    assert "Nothing is due or done." in empty.text
    assert empty.count("svg") == 0
    assert season_page(sample_season()) == season_page(sample_season())


def test_a_dot_stands_where_its_date_and_minutes_are() -> None:
    """Half-way through ten days and at half of the top of 4: the middle of the drawing, 34 to 312 across, 8 to 128 down."""
    first, last = dt.date(2026, 1, 1), dt.date(2026, 1, 11)
    row = MinutesRow("Heft", 4, None, ((dt.date(2026, 1, 6), 2.0), (dt.date(2025, 1, 1), 9.0)))
    plot = minutes_plot(row, first, last)
    assert plot.dots == ((173.0, 68.0),)
    assert plot.says == "1 visit; default 4 min a hive, nothing learned yet."


def test_stores_say_from_when_feed_may_be_due() -> None:
    """The low edge goes 9, 8, 7: below 8 kg first on the third date."""
    dates = tuple(dt.date(2026, 1, day) for day in (1, 8, 15))
    plot = feed_plot(FeedRow("Mill", dates, (10, 9, 8), (9, 8, 7), (11, 10, 9), (8, 8, 8)), dates[0], dates[-1])
    assert plot.says == "Feed is due below 8 kg a colony. The weakest tenth may be below 8 kg from 15 Jan."
    numbers = [float(number) for number in re.findall(r"[0-9.]+", plot.band + " " + plot.line)]
    assert len(numbers) == 18
    assert all(0 <= number <= max(WIDTH, HEIGHT) for number in numbers)


def test_each_level_of_the_season_is_drawn_over_its_own_days() -> None:
    """20 kg on the first two dates, none on the third, 10 kg on the fourth: two dashed lines that end where they do."""
    dates = tuple(dt.date(2026, 1, day) for day in (1, 8, 15, 22))
    row = FeedRow("Mill", dates, (22, 21, 20, 19), (21, 19, 12, 11), (23, 22, 21, 20), (20, 20, None, 10))
    plot = feed_plot(row, dates[0], dates[-1])
    assert [(level.text, level.dashed) for level in plot.levels] == [("feed below 20", True), ("feed below 10", True)]
    assert plot.levels[0].begins < plot.levels[0].ends < plot.levels[1].begins == plot.levels[1].ends
    assert "below 20 kg a colony from 1 Jan; below 10 kg a colony from 22 Jan." in plot.says
    assert "below 20 kg from 8 Jan" in plot.says


@given(st.floats(0, 1e6))
def test_the_top_of_an_axis_is_a_round_number_not_far_above(most: float) -> None:
    top = round_top(most)
    assert top >= most * (1 - 1e-6)
    assert top <= 2 * most + 1e-9 or top == 1


def test_it_opens_fits_a_phone_and_prints_on_its_side(browser: Browser, tmp_path: Path) -> None:
    opener = Opener(browser, tmp_path)
    for width in (360, 1280):
        page = opener(season_page(sample_season()), width)
        assert no_sideways_scroll(page)
        assert page.get_by_text("Upper Dingle", exact=True).first.is_visible()
        assert page.locator("table .overdue").count() == 2
    target = tmp_path / "season.pdf"
    page.pdf(path=target, prefer_css_page_size=True)
    # A4 is 210 mm by 297 mm, 595 by 842 points. Source: ISO 216.
    assert re.search(rb"/MediaBox \[0 0 84[12][.0-9]* 59[45][.0-9]*\]", target.read_bytes())
    page.emulate_media(media="print")
    page.set_viewport_size({"width": round((297 - 24) / 25.4 * 96), "height": 700})
    table = page.locator("table").bounding_box()
    assert table is not None
    assert table["width"] <= (297 - 24) / 25.4 * 96 + 1  # all 25 weeks are on the sheet
    opener.close()
    assert opener.troubles == []
