"""When things fall due, close and come again; each date is reckoned by hand beside it."""

from __future__ import annotations

from pathlib import Path

import pytest

from routing.farm.folder import read_farm
from routing.farm.models import Farm, Rank
from routing.season.due import Asked, State, due_items
from routing.season.entries import Record
from tests.season.small_farm import SITES_CSV, cancel, day, done, items, make_farm, write_farm

BEGIN = done("cote", "unite", "2026-01-05")
"""An entry that no rule looks at: the log begins on that day."""
SPRING = done("cote", "unite", "2026-06-01")
"""The same once the winter's rules are over, so that none of last winter's dates is open."""
EVENT_KINDS = (
    *("clearer-boards", "strips-in", "flumethrin-strips-in", "thymol-in", "thymol-second", "supers-on"),
    *("varroa-boards", "swarm-control", "queen-cells-check"),
)
"""What asks for something else afterwards."""
SOUTH = SITES_CSV.replace("52.02", "-36.02").replace("52.04", "-36.04").replace("51.98", "-35.98")


@pytest.fixture
def farm(tmp_path: Path) -> Farm:
    return make_farm(tmp_path)


def test_a_weekly_inspection_comes_seven_days_after_the_last_and_counts_its_days_over(farm: Farm) -> None:
    """1 May + 7 = 8 May; on 11 May it is 3 days over, at the other sites due since 20 April, 21 days."""
    found = items(farm, (BEGIN, done("ash", "weekly-inspection", "2026-05-01")), "2026-05-11")
    item = found["weekly-inspection", "ash"]
    assert (item.due, item.state, item.days_overdue, item.rank) == (day("2026-05-08"), State.OVERDUE, 3, Rank.MUST)
    assert found["weekly-inspection", "beck"].days_overdue == 21


def test_after_the_last_inspection_of_a_season_the_next_is_the_first_of_the_next(farm: Farm) -> None:
    """25 July + 7 = 1 August, past 31 July: next on 20 April. 23 July + 7 = 30 July: still this season, then over."""
    late = (BEGIN, done("ash", "weekly-inspection", "2026-07-25"), done("beck", "weekly-inspection", "2026-07-23"))
    found = items(farm, late, "2026-08-10")
    assert ("weekly-inspection", "ash") not in found
    assert found["weekly-inspection", "beck"].state is State.SEASON_OVER
    assert found["weekly-inspection", "beck"].due == day("2026-07-30")
    assert items(farm, late, "2027-04-18")["weekly-inspection", "ash"].due == day("2027-04-20")


def test_a_job_marked_partly_done_stays_due(farm: Farm) -> None:
    entries = (SPRING, done("ash", "mouse-guards", "2026-10-20", partly=True))
    assert items(farm, entries, "2026-10-24")["mouse-guards", "ash"].state is State.DUE


@pytest.mark.parametrize("word", ["beck", "BECK"])
def test_guards_are_due_before_the_first_frost_and_blocks_first_where_hives_stand_low(
    tmp_path: Path, word: str
) -> None:
    """First frost 25 October: by the 24th. Blocks: by 15 October, before the frost anyway; a fortnight earlier low."""
    farm = make_farm(tmp_path, f'[season]\nlow_sites = ["{word}"]\n')
    found = items(farm, (SPRING,), "2026-09-28")
    assert found["mouse-guards", "ash"].due == day("2026-10-24")
    assert found["entrance-blocks", "ash"].due == day("2026-10-15")
    assert found["entrance-blocks", "beck"].due == day("2026-10-01")
    listed = due_items(Asked(farm, Record(entries=(SPRING,)), day("2026-09-28")))
    assert [item.site for item in listed if item.rule == "entrance-blocks"] == ["beck", "ash", "cote"]


def test_a_frost_in_the_forecast_brings_it_forward(farm: Farm) -> None:
    asked = Asked(farm, Record(entries=(SPRING,)), day("2026-10-05"), frost_on=day("2026-10-09"))
    dues = {item.due for item in due_items(asked) if item.rule == "mouse-guards"}
    assert dues == {day("2026-10-08")}


def test_guards_never_fitted_stay_listed_past_their_season_until_logged_or_cancelled(farm: Farm) -> None:
    """They were fitted at Cote End alone, so that the log knows of such work."""
    begun = (SPRING, done("cote", "mouse-guards", "2026-10-20"))
    found = items(farm, begun, "2027-06-01")["mouse-guards", "ash"]
    assert (found.state, found.due) == (State.SEASON_OVER, day("2026-10-24"))
    gone = cancel(found, day("2027-06-01"))
    assert ("mouse-guards", "ash") not in items(farm, begun, "2027-06-02", gone)
    assert ("mouse-guards", "beck") in items(farm, begun, "2027-06-02", gone)
    assert items(farm, begun, "2027-10-20", gone)["mouse-guards", "ash"].due == day("2027-10-24")


def test_supers_come_off_one_to_three_days_after_the_clearer_boards(farm: Farm) -> None:
    """Boards on 1 August: not before the 2nd, by the 4th; off on the 3rd closes it; the same day does not."""
    boards = done("ash", "clearer-boards", "2026-08-01")
    found = items(farm, (BEGIN, boards), "2026-08-02")["supers-off", "ash"]
    assert (found.opens, found.due, found.state) == (day("2026-08-02"), day("2026-08-04"), State.DUE)
    same_day = (BEGIN, boards, done("ash", "supers-off", "2026-08-01"))
    assert items(farm, same_day, "2026-08-05")["supers-off", "ash"].state is State.OVERDUE
    off = (BEGIN, boards, done("ash", "supers-off", "2026-08-03"))
    assert ("supers-off", "ash") not in items(farm, off, "2026-08-05")


def test_two_events_before_one_answer_keep_the_older_date(farm: Farm) -> None:
    boards = (done("ash", "clearer-boards", "2026-08-03"), done("ash", "clearer-boards", "2026-08-01"))
    assert items(farm, (SPRING, *boards), "2026-08-04")["supers-off", "ash"].due == day("2026-08-04")


def test_strips_come_out_on_the_labels_day_where_it_was_written_and_else_in_six_to_eight_weeks(farm: Farm) -> None:
    """10 August + 70 days = 19 October; without: not before 21 September (42 days), by 5 October (56)."""
    medicine = {"product": "Strip A", "batch": "77", "days_in": 70}
    entries = (
        BEGIN,
        done("ash", "strips-in", "2026-08-10", medicine=medicine),
        done("beck", "strips-in", "2026-08-10"),
    )
    found = items(farm, entries, "2026-10-01")
    assert found["strips-out", "ash"].opens == found["strips-out", "ash"].due == day("2026-10-19")
    assert (found["strips-out", "beck"].opens, found["strips-out", "beck"].due) == (
        day("2026-09-21"),
        day("2026-10-05"),
    )


def test_a_storm_asks_for_a_check_and_low_stores_for_feed(farm: Farm) -> None:
    entries = (BEGIN, done("ash", "storm", "2026-02-10"), done("beck", "heft", "2026-02-10", seen=("stores-low",)))
    found = items(farm, entries, "2026-02-13")
    assert found["storm-check", "ash"].due == day("2026-02-12")
    assert found["stores-low", "beck"].due == day("2026-02-13")
    assert ("storm-check", "beck") not in found
    checked = (*entries, done("ash", "storm-check", "2026-02-11"), done("beck", "fondant", "2026-02-10"))
    assert not {("storm-check", "ash"), ("stores-low", "beck")} & items(farm, checked, "2026-02-13").keys()


@pytest.mark.parametrize(
    ("seen", "rule", "kind", "by"),
    [
        ("queen-cells", "queen-cells", "swarm-control", "2026-05-21"),
        ("queenless", "queenless", "queenless-help", "2026-05-27"),
        ("robbing", "robbing", "narrow-entrances", "2026-05-21"),
        ("dead-colony", "dead-colony", "clear-dead", "2026-05-22"),
        ("hive-over", "hive-over", "set-right", "2026-05-21"),
        ("lid-off", "lid-off", "set-right", "2026-05-21"),
        ("mouse-damage", "mouse-damage", "mouse-repair", "2026-05-27"),
        ("woodpecker-damage", "woodpecker-damage", "woodpecker-netting", "2026-05-23"),
    ],
)
def test_what_was_seen_on_a_visit_asks_for_its_remedy_until_that_is_logged(
    farm: Farm, seen: str, rule: str, kind: str, by: str
) -> None:
    """Seen on 20 May at Ash Bank: due from that day on, there alone; done on the same day it is closed.

    For open or fallen hives days count: they are for now, the others are musts.
    """
    rank = Rank.NOW if seen in {"hive-over", "lid-off"} else Rank.MUST
    entries = (BEGIN, done("ash", "weekly-inspection", "2026-05-20", seen=(seen,)))
    found = items(farm, entries, "2026-05-20")
    item = found[rule, "ash"]
    assert (item.kind, item.rank, item.opens, item.due) == (kind, rank, day("2026-05-20"), day(by))
    assert item.state is State.DUE
    assert (rule, "beck") not in found
    assert (rule, "ash") not in items(farm, (*entries, done("ash", kind, "2026-05-20")), "2026-05-20")


def test_queen_cells_are_followed_until_the_new_queen_lays(farm: Farm) -> None:
    """Split on 21 May: cells thinned 7 to 8 days on, on the 28th; not opened for 14 days, laying looked for by 24."""
    seen = done("ash", "weekly-inspection", "2026-05-20", seen=("queen-cells",))
    split = (BEGIN, seen, done("ash", "swarm-control", "2026-05-21"))
    thin = items(farm, split, "2026-05-24")["queen-cells-check", "ash"]
    assert (thin.opens, thin.due) == (day("2026-05-28"), day("2026-05-29"))
    thinned = (*split, done("ash", "queen-cells-check", "2026-05-28"))
    laying = items(farm, thinned, "2026-06-01")["laying-check", "ash"]
    assert (laying.opens, laying.due) == (day("2026-06-11"), day("2026-06-21"))
    over = items(farm, (*thinned, done("ash", "laying-check", "2026-06-15")), "2026-06-16")
    assert not {rule for rule, site in over if site == "ash"} & {"queen-cells", "queen-cells-check", "laying-check"}


def test_flumethrin_strips_are_out_in_six_weeks_and_thymol_has_its_second_dose(farm: Farm) -> None:
    """10 August + 42 days = 21 September, from the 14th; thymol 14 days on, 24 August, and off 14 days later."""
    entries = (
        BEGIN,
        done("ash", "flumethrin-strips-in", "2026-08-10"),
        done("beck", "thymol-in", "2026-08-10"),
        done("cote", "thymol-in", "2026-08-10"),
        done("cote", "thymol-second", "2026-08-24"),
    )
    found = items(farm, entries, "2026-09-06")
    strips = found["flumethrin-strips-out", "ash"]
    assert (strips.kind, strips.opens, strips.due) == ("strips-out", day("2026-09-14"), day("2026-09-21"))
    assert found["thymol-second", "beck"].opens == day("2026-08-24")
    assert ("thymol-off", "beck") not in found
    assert (found["thymol-off", "cote"].opens, found["thymol-off", "cote"].due) == (
        day("2026-09-07"),
        day("2026-09-09"),
    )


def test_varroa_is_counted_three_to_five_days_after_the_boards_go_in(farm: Farm) -> None:
    """Boards on 1 April: count on the 4th to the 6th. The next boards are those of June."""
    entries = (BEGIN, done("ash", "varroa-boards", "2026-04-01"))
    count = items(farm, entries, "2026-04-03")["varroa-count", "ash"]
    assert (count.opens, count.due) == (day("2026-04-04"), day("2026-04-06"))
    counted = items(farm, (*entries, done("ash", "varroa-count", "2026-04-05")), "2026-06-10")
    assert ("varroa-spring", "ash") not in counted
    assert ("varroa-count", "ash") not in counted
    assert counted["varroa-summer", "ash"].due == day("2026-06-25")


def test_upkeep_comes_only_where_the_farm_asks_for_it(tmp_path: Path) -> None:
    """Grass is on no list until farm.toml names its rule."""
    entries = (SPRING,)
    assert ("grass-cutting", "ash") not in items(make_farm(tmp_path), entries, "2026-06-20")
    asked = make_farm(tmp_path, "[due.grass-cutting]\nwanted = true\n")
    assert items(asked, entries, "2026-06-20")["grass-cutting", "ash"].rank is Rank.PASSING


def test_what_comes_later_is_not_known_yet(farm: Farm) -> None:
    entries = (BEGIN, done("ash", "weekly-inspection", "2026-05-01"), done("ash", "weekly-inspection", "2026-05-20"))
    assert items(farm, entries, "2026-05-11")["weekly-inspection", "ash"].due == day("2026-05-08")


def test_a_log_just_begun_counts_what_is_in_season_as_due_that_day(farm: Farm) -> None:
    """Guards were due on 24 October; a log begun on 5 November does not know whether they are on: due that day."""
    found = items(farm, (), "2026-11-05")
    assert (found["mouse-guards", "ash"].due, found["mouse-guards", "ash"].state) == (day("2026-11-05"), State.DUE)
    assert not [item for item in found.values() if item.state in {State.OVERDUE, State.SEASON_OVER}]


def test_the_south_has_its_year_six_months_later(tmp_path: Path) -> None:
    """25 October becomes 25 April: guards by 24 April. 20 April becomes 20 October, 31 October 30 April."""
    write_farm(tmp_path, sites=SOUTH)
    toml = (tmp_path / "farm.toml").read_text().replace("52.0, -2.7", "-36.0, -2.7").replace("London", "Lisbon")
    (tmp_path / "farm.toml").write_text(toml)
    farm = read_farm(tmp_path)
    start = done("cote", "unite", "2026-02-15")
    assert items(farm, (start,), "2026-04-01")["mouse-guards", "ash"].due == day("2026-04-24")
    assert items(farm, (start,), "2026-10-18")["weekly-inspection", "ash"].due == day("2026-10-20")


def test_worst_first_and_in_passing_where_a_visit_is_made_anyway(farm: Farm) -> None:
    """Insulation is due by 30 November and may be fitted from 10 October: by the way at sites with something due.

    At Ash Bank all else of the autumn is done.
    """
    entries = (
        SPRING,
        *(done(site, "heft", "2026-10-20", stores_kg=25) for site in ("ash", "beck")),
        *(done("ash", kind, date) for kind, date in (("varroa-boards", "2026-10-08"), ("hornet-watch", "2026-10-25"))),
        *(done("ash", kind, "2026-10-15") for kind in farm.job_kinds if kind not in {"insulation", *EVENT_KINDS}),
    )
    asked = Asked(farm, Record(entries=entries), day("2026-10-26"))
    found = due_items(asked)
    order = [(tuple(State).index(item.state), tuple(Rank).index(item.rank), item.due) for item in found]
    assert order == sorted(order)
    assert {item.site for item in found if item.in_passing and item.rule == "insulation"} == {"beck", "cote"}
    visited = due_items(asked, frozenset({"ash"}))
    assert {item.site for item in visited if item.in_passing and item.rule == "insulation"} == {"ash", "beck", "cote"}


def test_an_empty_site_has_nothing_due(tmp_path: Path) -> None:
    farm = make_farm(tmp_path, sites=SITES_CSV.replace("-2.72,10", "-2.72,0"))
    assert {site for _, site in items(farm, (), "2026-11-05")} == {"beck", "cote"}


def test_feed_is_for_now_where_the_weakest_tenth_is_below_five_kilograms(farm: Farm) -> None:
    """Hefted on 1 December with 12 kg a colony feed is a must, with 5 kg (the weakest tenth less) it cannot wait."""
    for kg, rank in ((12, Rank.MUST), (5, Rank.NOW)):
        entries = (SPRING, done("ash", "heft", "2026-12-01", stores_kg=kg))
        assert items(farm, entries, "2026-12-02")["winter-feed", "ash"].rank is rank


def test_a_second_super_is_no_work_of_winter_and_hides_no_new_spring(tmp_path: Path) -> None:
    """Supers on 5 May and none after: due 26 May, overdue in July, from August past sense and never work to do.

    Next year's supers ask for a second one again. Supers put on in August ask for none.
    """
    farm = make_farm(tmp_path)
    first = (done("beck", "supers-more", "2026-05-20"), done("ash", "supers-on", "2026-05-05"))
    states = {on: items(farm, first, on)["supers-more", "ash"].state for on in ("2026-07-31", "2026-10-14")}
    assert states == {"2026-07-31": State.OVERDUE, "2026-10-14": State.SEASON_OVER}
    both = (*first, done("ash", "supers-on", "2027-05-01"))
    found = due_items(Asked(farm, Record(entries=both), day("2027-05-20")))
    told = {(item.state, item.due) for item in found if (item.rule, item.site) == ("supers-more", "ash")}
    assert told == {(State.SEASON_OVER, day("2026-05-26")), (State.DUE, day("2027-05-22"))}
    late = (first[0], done("ash", "supers-on", "2026-08-10"))
    assert ("supers-more", "ash") not in items(farm, late, "2026-09-10")


def test_what_is_past_sense_is_never_told_as_a_thing_of_now(tmp_path: Path) -> None:
    """Autumn feed missed at 3 kg: in December the winter's feed is `now`, the missed one is not."""
    entries = (done("ash", "heft", "2026-09-08", stores_kg=3), done("ash", "syrup", "2025-09-10"))
    found = items(make_farm(tmp_path), entries, "2026-12-10")
    assert found["autumn-feed", "ash"].state is State.SEASON_OVER
    assert (found["autumn-feed", "ash"].rank, found["winter-feed", "ash"].rank) == ("must", "now")
