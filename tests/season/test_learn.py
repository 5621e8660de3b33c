"""What records teach: small sums by hand, the tables, and a season whose true minutes are known."""

import datetime as dt
import math
from pathlib import Path

import numpy as np
import pytest

from routing.check import broken_promises
from routing.errors import FarmError
from routing.farm.kinds import load_catalogue
from routing.farm.models import DriveBand, Farm
from routing.planning.chance.spread import Spread
from routing.planning.model.build_instance import build_instance
from routing.planning.plan import plan_days
from routing.season.learn import FARTHEST, Learned, learn, with_learned
from routing.season.record_tables import has_records, read_records
from routing.season.records import DriveRecord, VisitRecord
from routing.stages.read import lessons_of, taught
from tests.check.small_farm import FARM, LEGS, WEDNESDAY

START = dt.date(2026, 3, 1)


def visit(minutes: float, kinds: tuple[str, ...] = ("fondant",), **more: object) -> VisitRecord:
    facts = {"site": "ford", "crew": "anna", "people": 1, "date": START, "hives": 10}
    return VisitRecord.model_validate({**facts, "kinds": kinds, "minutes": minutes, **more})


def reckoned(farm: Farm, record: VisitRecord) -> float:
    """Return the minutes by the arithmetic of the contract: walk, the longest set-up, and each kind's work."""
    hands = 1 + farm.rules.extra_hands_share.value * (record.people - 1)
    kinds = [farm.job_kinds[kind] for kind in record.kinds]
    work = sum(kind.minutes_a_hive.value * record.hives for kind in kinds) / hands
    return 2 * farm.site(record.site).walking_minutes + max(kind.minutes_a_visit.value for kind in kinds) + work


def test_a_record_that_agrees_teaches_no_change() -> None:
    """Fondant at the ford: 10 min of set-up and 10 hives at 4.01 min are 50.1 min."""
    assert reckoned(FARM, visit(1)) == pytest.approx(50.1)
    lessons = learn(FARM, [visit(50.1, date=START + dt.timedelta(days=n)) for n in range(10)])
    assert lessons.of("kind")["fondant"].factor == pytest.approx(1)
    changed = with_learned(FARM, lessons).job_kinds["fondant"]
    assert changed.minutes_a_hive.value == 4.01
    assert "learned from 10 visits: " in changed.minutes_a_hive.source
    assert "the default 4.01" in changed.minutes_a_hive.source


def test_one_slow_visit_moves_little_and_forty_move_nearly_all_the_way() -> None:
    slow = 50.1 * 1.5
    once = learn(FARM, [visit(slow)]).of("kind")["fondant"]
    often = learn(FARM, [visit(slow, date=START + dt.timedelta(days=n)) for n in range(40)]).of("kind")["fondant"]
    assert 1.1 < once.factor < 1.35
    assert 1.45 < often.factor < 1.5
    assert once.record_share < often.record_share
    assert once.low < once.factor < once.high
    assert "1 visit: " in once.source
    assert learn(FARM, []).estimates == ()
    assert with_learned(FARM, learn(FARM, [])) == FARM


def test_the_walk_is_taken_off_and_kinds_always_done_together_share_what_a_visit_strays_by_evenly() -> None:
    """At the hill the walk is 7 min; fondant 40.1 and guards 20 min of work with one set-up of 10: 77.1 in all."""
    record = visit(77.1, ("fondant", "guards"), site="hill")
    assert reckoned(FARM, record) == pytest.approx(77.1)
    lessons = learn(FARM, [record] * 3)
    assert lessons.of("kind")["guards"].factor == pytest.approx(1)
    days = [START + dt.timedelta(days=n) for n in range(80)]
    slow = learn(FARM, [visit(1.3 * 70.1 + 7, ("fondant", "guards"), site="hill", date=day) for day in days]).of("kind")
    assert slow["fondant"].factor == slow["guards"].factor == pytest.approx(1.3, abs=0.01)


def test_kinds_that_are_done_alone_too_are_told_apart() -> None:
    """Fondant alone takes what it is reckoned at; with the guards the visit is so long that those take twice theirs."""
    days = [START + dt.timedelta(days=n) for n in range(60)]
    both = [visit(10 + 40.1 + 40, ("fondant", "guards"), date=day) for day in days]
    found = learn(FARM, [*both, *(visit(50.1, date=day) for day in days)]).of("kind")
    assert found["fondant"].factor == pytest.approx(1, abs=0.1)
    assert found["guards"].factor > 1.5


def test_a_forgotten_clock_teaches_nothing_and_is_told_of() -> None:
    """Every tenth of forty visits has 4.5 times its minutes, which would add a sixth to all; and so has one of four."""
    dice = np.random.default_rng(1)
    minutes = [50.1 * math.exp(dice.normal(0, 0.2)) * (1 if n % 10 else 4.5) for n in range(40)]
    records = [visit(taken, date=START + dt.timedelta(days=n)) for n, taken in enumerate(minutes)]
    lessons = learn(FARM, records)
    good = learn(FARM, [record for n, record in enumerate(records) if n % 10])
    assert lessons.of("kind")["fondant"].factor == pytest.approx(good.of("kind")["fondant"].factor, abs=0.01)
    assert lessons.visit_sd == pytest.approx(good.visit_sd, abs=0.02)
    assert len(lessons.doubted) == 4
    assert "a forgotten clock?" in lessons.doubted[0]
    few = [visit(50.1 * times, date=START + dt.timedelta(days=n)) for n, times in enumerate((1, 1, 4.5, 1))]
    assert learn(FARM, few).of("kind")["fondant"].factor == pytest.approx(1, abs=0.02)


def test_what_is_always_slow_is_learned_and_not_taken_for_a_slip() -> None:
    lessons = learn(FARM, [visit(3 * 50.1, date=START + dt.timedelta(days=n)) for n in range(20)])
    assert lessons.of("kind")["fondant"].factor > 2.9
    assert lessons.doubted == ()


def test_kinds_of_one_visit_may_be_done_at_different_numbers_of_hives() -> None:
    """Guards at all 10 hives (20 min) and fondant at 2 (8.02), with one set-up of 10: 38.02 min are as reckoned."""
    record = visit(38.02, ("guards", "fondant"), hives_of={"fondant": 2})
    assert learn(FARM, [record] * 5).of("kind")["fondant"].factor == pytest.approx(1)


def test_a_slip_of_the_pen_counts_as_five_times_at_most() -> None:
    wild = learn(FARM, [visit(2880)]).of("kind")["fondant"]
    five = learn(FARM, [visit(5 * 50.1)]).of("kind")["fondant"]
    assert wild.factor == pytest.approx(five.factor)
    tiny = learn(FARM, [visit(0.5, site="hill")]).of("kind")["fondant"]  # less than the walk alone
    assert math.log(tiny.factor) > -FARTHEST


def test_one_site_and_one_crew_are_not_told_from_the_work_itself() -> None:
    lessons = learn(FARM, [visit(90)] * 5)
    assert lessons.of("site") == lessons.of("crew") == {}


def test_a_pace_is_the_factor_on_hive_minutes_alone() -> None:
    """A site 1.2 times as slow with 10 min of set-up and 40.1 of work: 1.2 + 0.2 * 10 / 40.1 = 1.2499 on the work."""
    records = [
        visit(50.1 * (1.2 if site == "ford" else 1.0), site=site, date=START + dt.timedelta(days=n))
        for n in range(60)
        for site in ("ford", "fen", "moor", "gate", "wood", "lane", "mill")
    ]
    ford = learn(FARM, records).of("site")["ford"]
    assert ford.pace == pytest.approx(ford.factor + (ford.factor - 1) * 10 / 40.1, abs=0.001)
    assert ford.factor > 1.1


def test_what_the_farm_no_longer_has_is_set_aside_and_said() -> None:
    lessons = learn(FARM, [visit(50, site="sold"), visit(50, ("honey",)), visit(50, crew="zoe"), visit(0.5, hives=0)])
    assert lessons.visits == 1
    assert [text.split(": ")[1] for text in lessons.set_aside] == [
        "the farm has no site sold",
        "the farm has no job kind honey",
        "the farm has no crew zoe",
    ]


def test_a_season_whose_truth_is_known_is_learned_better_than_the_defaults() -> None:
    """Crews, sites and kinds differ by known factors; the learned minutes miss new visits by less than half as much."""
    dice = np.random.default_rng(12)
    kinds = {"fondant": 1.5, "guards": 0.7, "strips": 1.2}
    sites = {site.id: math.exp(dice.normal(0, 0.15)) for site in FARM.sites}
    crews = {"anna": 1.15, "ben": 0.9}

    def seen(day: int) -> tuple[VisitRecord, float]:
        kind, site, crew = (str(dice.choice(list(names))) for names in (kinds, sites, crews))
        record = visit(
            1,
            (kind,),
            site=site,
            crew=crew,
            people=2 if crew == "ben" else 1,
            hives=int(dice.integers(2, 25)),
            date=START + dt.timedelta(days=day),
        )
        walk = 2 * FARM.site(site).walking_minutes
        truth = walk + (reckoned(FARM, record) - walk) * kinds[kind] * sites[site] * crews[crew]
        noisy = truth * math.exp(dice.normal(0, 0.2))
        return record.model_copy(update={"minutes": noisy}), truth

    past = [seen(n // 4)[0] for n in range(300)]
    wiser = with_learned(FARM, learn(FARM, past))
    new = [seen(100 + n) for n in range(200)]

    def miss(farm: Farm) -> float:
        def minutes(record: VisitRecord) -> float:
            walk = 2 * farm.site(record.site).walking_minutes
            set_up = farm.job_kinds[record.kinds[0]].minutes_a_visit.value
            pace = farm.site(record.site).pace * farm.crew(record.crew).pace
            return walk + set_up + (reckoned(farm, record) - walk - set_up) * pace

        return float(np.mean([abs(math.log(minutes(record) / truth)) for record, truth in new]))

    assert miss(wiser) < miss(FARM) / 2
    assert miss(wiser) < 0.1


def test_a_farm_that_has_learned_plans_rounds_that_pass_the_check() -> None:
    records = [visit(80, site=site.id, crew=crew.id, people=crew.people) for site in FARM.sites for crew in FARM.crews]
    wiser = with_learned(FARM, learn(FARM, [*records, visit(30, ("guards",))]))
    assert any(site.pace != 1 for site in wiser.sites)
    assert broken_promises(plan_days(build_instance(wiser, LEGS, (WEDNESDAY,))), wiser, LEGS) == ()


def test_drives_teach_a_factor_on_estimates() -> None:
    drives = [DriveRecord(start="base", end="hill", planned_seconds=1000, actual_seconds=1300)] * 30
    lessons = learn(FARM, [], drives)
    (drive,) = lessons.estimates
    assert 1.25 < drive.factor < 1.3
    assert with_learned(FARM, lessons).rules.drive_factor == round(drive.factor, 3)
    assert "30 drives" in drive.source
    assert Learned("drive", "drive", 1, 1, 1, 0, 0).source == "default, nothing recorded"


def test_records_come_from_tables_and_a_learned_factor_does_not_feed_itself(tmp_path: Path) -> None:
    """The drive is measured against today's estimate; what was planned then (here a second) does not matter."""
    farm = FARM.model_copy(update={"folder": tmp_path, "rules": FARM.rules.model_copy(update={"drive_bands": bands()})})
    assert not has_records(tmp_path)
    assert lessons_of(farm).estimates == ()
    (tmp_path / "visits.csv").write_text(
        "date,site,kinds,crew,people,hives,minutes\n"
        + "".join(f"2026-03-{day:02},ford,fondant + guards,anna,1,10,70\n" for day in range(1, 26))
    )
    rows = "".join(f"base,hill,{planned},20\n" for planned in (0.5, 40, 99))
    (tmp_path / "driven.csv").write_text("from,to,planned_minutes,minutes\n" + rows)
    visits, drives = read_records(tmp_path)
    assert (visits[0].kinds, len(drives)) == (("fondant", "guards"), 3)
    first = lessons_of(farm)
    assert {found.what for found in first.estimates} == {"kind", "drive"}
    (tmp_path / "driven.csv").write_text("from,to,planned_minutes,minutes\n" + rows.replace("99", "1"))
    assert lessons_of(farm).of("drive") == first.of("drive")
    assert taught(farm).rules.drive_factor != 1
    assert Spread.of(taught(farm)).visit.source == "learned from 25 visits"
    assert Spread.of(with_learned(FARM, learn(FARM, []))) == Spread()


def bands() -> tuple[DriveBand, ...]:

    return load_catalogue().rules.drive_bands


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("2026-03-01,ford,fondant,anna,1,ten,70", 'visits.csv:2: hives "ten" is not a whole number'),
        ("2026-03-01,ford,+,anna,1,10,70", 'visits.csv:2: kinds "+" names no job kind'),
        ("2026-03-01,ford,fondant,anna,1,10,", "visits.csv:2: minutes is missing"),
        ("soon,ford,fondant,anna,1,10,70", 'visits.csv:2: date "soon" is not a date'),
    ],
)
def test_faults_of_a_record_are_told_with_their_line(tmp_path: Path, row: str, fault: str) -> None:
    (tmp_path / "visits.csv").write_text(f"date,site,kinds,crew,people,hives,minutes\n{row}\n")
    with pytest.raises(FarmError) as told:
        read_records(tmp_path)
    assert fault in str(told.value)
