"""`try` and `replan` answer on one screen, in the words of `plan`: what holds, when to leave, what is lost and gained."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from routing.cli.app import app
from routing.farm.models import Rank
from routing.round import ReasonCode
from routing.share.wording.beside import NOT_COMPARED, beside_lines, listed
from tests.share.sample import alder, at, job, left_out, rowan, sample_round

EXAMPLES = Path(__file__).parents[1] / "examples"
JUNE = "2026-06-10"


def lines(*words: object, code: int = 0) -> list[str]:
    result = CliRunner().invoke(app, [str(word) for word in words], env={"COLUMNS": "80"})
    assert result.exit_code == code, result.output
    return [line.rstrip() for line in result.stdout.splitlines()]


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the farm of four sites with the plan of its day written: D, C, B, A from 08:00 to 12:30."""
    folder = tmp_path_factory.mktemp("first") / "farm"
    shutil.copytree(EXAMPLES / "four-sites", folder, ignore=shutil.ignore_patterns("rounds"))
    lines("plan", folder, "--on", JUNE)
    return folder


def test_an_own_order_is_answered_in_five_lines(farm: Path) -> None:
    """D-A-B drives 30 + 35 + 10 + 25 = 100 min and works 150: home at 12:10, 20 min before the plan's 12:30."""
    shown = lines("try", farm, "--on", JUNE, "--order", "D,A,B")
    assert shown[:5] == [
        "YES: your order for Wednesday 10 June 2026 keeps every rule.",
        "2 of 3 musts before dark; the one want.",
        "Leave 08:00, home 12:10 (wanted by 13:00).",
        "Beside the written plan: lost 1 must (Cherry); home 20 min sooner.",
        "Left out that must be done: Cherry (not in your order).",
    ]
    assert len(shown) <= 50
    assert "\N{MULTIPLICATION SIGN} Not in your order: Cherry." in shown
    assert any(re.match(r"1 +Damson +30 min +08:30 +09:20", line) for line in shown)


def test_full_tells_all_of_an_own_order_after_the_same_answer(farm: Path) -> None:
    order = ("try", farm, "--on", JUNE, "--order", "D,A,B")
    brief, full = lines(*order), lines(*order, "--full")
    assert full[:5] == brief[:5]
    assert "How to read this" in full
    assert "How to read this" not in brief


def test_an_order_that_breaks_a_rule_says_no_first_and_its_times_a_line_each(tmp_path: Path) -> None:
    """Home by 12:00 leaves 240 min; the four visits in the order A, D, C, B take 290."""
    folder = shutil.copytree(EXAMPLES / "four-sites", tmp_path / "farm", ignore=shutil.ignore_patterns("rounds"))
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    (folder / "farm.toml").write_text(text.replace('home_by = "13:00"', 'home_by = "12:00"'), encoding="utf-8")
    shown = lines("try", folder, "--on", JUNE, "--order", "A,D,C,B", code=1)
    assert shown[0] == "NO: your order for Wednesday 10 June 2026 does not keep every rule."
    assert shown[1].startswith("  - Home would be at 12:50, 50 min after")
    assert "- home at 12:50" in shown
    assert "- Alder from 08:10 to 09:00" in shown


def test_the_rest_of_a_day_is_answered_first_and_beside_the_plan(farm: Path) -> None:
    """At 10:31 at B with D and A done: C is 10 min away and home 20 min from there, before the plan's 12:30."""
    shown = lines(
        "replan", farm, "--on", JUNE, "--at", "10:31", "--from", "B", "--done", "A", "--done", "D", "--done", "B"
    )
    assert shown[:4] == [
        "Four sites: the rest of Wednesday 10 June 2026, from 10:31",
        "The one must before dark.",
        "Leave Birch 10:31, home 11:51 (wanted by 13:00).",
        "Beside the written plan: nothing lost, nothing gained; home 39 min sooner.",
    ]
    assert not any(line.startswith("Load at base") for line in shown)


def test_without_a_written_plan_nothing_is_compared(tmp_path: Path) -> None:
    folder = shutil.copytree(EXAMPLES / "four-sites", tmp_path / "farm", ignore=shutil.ignore_patterns("rounds"))
    order = ("try", folder, "--on", JUNE, "--order", "A")
    assert NOT_COMPARED in " ".join(lines(*order))
    damaged = folder / "rounds" / JUNE / "round.json"
    damaged.parent.mkdir(parents=True)
    damaged.write_text("{}", encoding="utf-8")
    assert NOT_COMPARED in " ".join(lines(*order))


def test_lost_gained_and_taken_over_are_told_by_rank_and_site() -> None:
    """Alder skips Mill Bank (a want), does one must of Rowan's and one job that nobody had planned."""
    planned = sample_round(itineraries=(alder(), rowan()), left_out=())
    numbered = [
        day.model_copy(
            update={
                "stops": tuple(
                    stop.model_copy(update={"jobs": (job(id=f"{day.crew}{stop.number}", rank=rank),)})
                    for stop, rank in zip(day.stops, (Rank.WANT, Rank.MUST, Rank.MUST, Rank.MUST), strict=False)
                )
            }
        )
        for day in planned.itineraries
    ]
    plan = planned.model_copy(update={"itineraries": tuple(numbered)})
    first, second, *rest = numbered[0].stops
    own = (
        second.model_copy(update={"jobs": (*second.jobs, numbered[1].stops[1].jobs[0])}),
        *rest,
        first.model_copy(update={"name": "New Croft", "jobs": (job(id="new", rank=Rank.PASSING),)}),
    )
    mill = left_out("Mill Bank", (52.6, -2.9), ReasonCode.NOT_ASKED, "why", jobs=first.jobs)
    now = numbered[0].model_copy(update={"stops": own, "home": at("15:28:10")})
    tried = plan.model_copy(update={"itineraries": (now,), "left_out": (mill,)})
    told = "lost 1 want (Mill Bank); gained 1 passing job (New Croft); taken from other crews 1 must (Long Meadow)"
    assert beside_lines(tried, "alder", plan) == (f"Beside the written plan: {told}; home 30 min later.",)


def test_a_sentence_that_lists_is_told_an_item_a_line_and_another_as_it_is() -> None:
    assert listed("It would be: this; that; home at 18:40.") == ("It would be:", "- this", "- that", "- home at 18:40")
    assert listed("It needs 5 kg: none is in store.") == ("It needs 5 kg: none is in store.",)
