"""A round that was written is used again as long as all that it rests on is the same, and never once any of it changed."""

from __future__ import annotations

import datetime as dt
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from typer.testing import CliRunner

from routing.cli.app import app
from routing.farm.models import Farm
from routing.output.ledger import PLANNED
from routing.planning.split_delivery import plan_shared
from routing.round import Round
from routing.share.exports.files import round_json
from routing.stages import kept, plan, write
from routing.stages.plan import Planned, Wish
from routing.stages.read import farm_in
from tests.together import another_hash_seed

EXAMPLES = Path(__file__).parents[1] / "examples"
JUNE = dt.date(2026, 6, 10)
AGAIN = "Not searched for again"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Four sites, whose round of the tenth of June is written."""
    shutil.copytree(EXAMPLES / "four-sites", tmp_path / "farm", ignore=shutil.ignore_patterns("rounds"))
    written(tmp_path / "farm")
    return tmp_path / "farm"


def written(folder: Path, wish: Wish | None = None, *dates: dt.date) -> Planned:
    farm = farm_in(folder)
    found = plan.planned(farm, *(dates or (JUNE,)), wish=wish)
    write.write_plan(farm, found.round, key=found.key, timed=wish is not None and wish.seconds is not None)
    return found


def again(folder: Path, *dates: dt.date, wish: Wish | None = None, timed: bool = False) -> bool:
    """Return whether the round of these dates is found and not searched for."""
    return plan.planned(farm_in(folder), *(dates or (JUNE,)), wish=wish, timed=timed).again


def edited(file: str, old: str, new: str) -> Callable[[Path], None]:
    def edit(folder: Path) -> None:
        text = (folder / file).read_text(encoding="utf-8")
        assert old in text
        (folder / file).write_text(text.replace(old, new, 1), encoding="utf-8")

    return edit


def logged(folder: Path) -> None:
    """Write down that the inspection at A is done, which leaves three jobs."""
    words = ["log", "add", str(folder), "--site", "A", "--kind", "weekly-inspection", "--on", "2026-06-08"]
    assert CliRunner().invoke(app, words).exit_code == 0


def forecast(folder: Path) -> None:
    """Write one hour of weather, of another day: nothing of the round changes, but what it rests on does."""
    (folder / "weather.csv").write_text(
        "time,temperature_c,rain_mm,wind_kmh\n2026-06-09T12:00,18,0,5\n", encoding="utf-8"
    )


CHANGES: dict[str, Callable[[Path], None]] = {
    "a site's place": edited("sites.csv", "52.3", "52.4"),
    "a site's hives": edited("sites.csv", ",5", ",6"),
    "a job": edited("jobs.csv", "weekly-inspection", "heft"),
    "the crew": edited("farm.toml", 'home_by = "13:00"', 'home_by = "12:00"'),
    "a drive": edited("drives.csv", "10", "11"),
    "the log": logged,
    "the forecast": forecast,
}


@pytest.mark.parametrize("what", CHANGES)
def test_a_farm_that_has_changed_is_planned_anew(folder: Path, what: str) -> None:
    assert again(folder)
    CHANGES[what](folder)
    assert not again(folder)


def test_what_is_found_again_is_what_a_search_would_find(folder: Path) -> None:
    """Byte by byte, and with the same farm and drives beside it."""
    farm = farm_in(folder)
    found = plan.planned(farm, JUNE)
    shutil.rmtree(folder / "rounds")
    searched = plan.planned(farm, JUNE)
    assert (found.again, searched.again) == (True, False)
    assert round_json(found.round) == round_json(searched.round)
    assert found.farm == searched.farm
    assert found.legs.seconds.tolist() == searched.legs.seconds.tolist()


def test_another_date_another_wish_and_a_time_by_the_clock_are_other_questions(folder: Path) -> None:
    assert not again(folder, JUNE + dt.timedelta(days=1))
    assert not again(folder, JUNE, JUNE + dt.timedelta(days=1))
    assert not again(folder, wish=Wish(even=True))
    assert not again(folder, wish=Wish(seconds=1))
    assert again(folder, wish=Wish(progress=lambda _found: None))


def test_another_version_of_the_program_plans_anew(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "_program", lambda: "another")
    assert not again(folder)


def test_a_changed_file_of_the_program_is_another_version(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its own files are read: leaving one out gives another digest, and so does another version of a library."""
    here = kept._program()
    files = list(kept._files(Path(kept.__file__).parents[1]))
    assert Path(kept.__file__) in files
    kept._program.cache_clear()
    monkeypatch.setattr(kept, "_files", lambda _folder: files[1:])
    assert kept._program() != here
    kept._program.cache_clear()
    monkeypatch.undo()
    monkeypatch.setattr(kept, "version", lambda _name: "0")
    assert kept._program() != here
    kept._program.cache_clear()


def test_a_round_that_was_changed_or_is_gone_is_not_taken(folder: Path) -> None:
    file = folder / "rounds" / JUNE.isoformat() / "round.json"
    whole = file.read_text(encoding="utf-8")
    file.write_text(whole.replace("Alder", "Elder", 1), encoding="utf-8")
    assert not again(folder)
    file.write_text(whole, encoding="utf-8")
    assert again(folder)
    file.unlink()
    assert not again(folder)


@pytest.mark.parametrize("damage", ["", "nonsense\n", '{"key":"0"}\n', "\x00" * 50])
def test_a_damaged_list_is_no_list(folder: Path, damage: str) -> None:
    (folder / PLANNED).write_text(damage, encoding="utf-8")
    assert not again(folder)
    written(folder)
    assert again(folder)


def test_a_list_that_cannot_be_written_is_done_without(folder: Path) -> None:
    (folder / PLANNED).unlink()
    (folder / PLANNED).mkdir()
    written(folder)
    assert not again(folder)
    assert not list(folder.glob(".outyard-part-*"))


def test_a_farm_folder_may_be_moved(folder: Path) -> None:
    folder.rename(folder.with_name("elsewhere"))
    assert again(folder.with_name("elsewhere"))


def test_a_round_whose_search_the_clock_ended_answers_questions_and_is_no_usual_plan(folder: Path) -> None:
    """It is the one that is written; the usual plan would find what it always finds."""
    written(folder, Wish(seconds=1))
    assert again(folder, timed=True)
    assert not again(folder)
    written(folder)
    assert again(folder)


def test_a_stopped_search_is_not_kept(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:

    def stopped(*given: object) -> tuple[Farm, Round]:
        farm, round_ = plan_shared(*given)  # type: ignore[arg-type]
        return farm, round_.model_copy(update={"proof": round_.proof.model_copy(update={"stopped": True})})

    monkeypatch.setattr("routing.stages.plan.plan_shared", stopped)
    found = plan.planned(farm_in(folder), JUNE + dt.timedelta(days=1), keep_stopped=True)
    assert (found.round.proof.stopped, found.key) == (True, "")


def test_another_road_map_is_another_farm(tmp_path: Path) -> None:
    """One more place name in the map changes no drive, and yet what is told of it might differ."""
    farm = farm_in(EXAMPLES / "hollin-vale")
    ready, legs = plan.prepared(farm, JUNE)
    assert farm.road_map is not None
    other = tmp_path / "other.osm.pbf"
    other.write_bytes(farm.road_map.read_bytes() + b"more")
    same = tmp_path / "same.osm.pbf"
    shutil.copy(farm.road_map, same)
    keys = [
        kept.key_of(ready.model_copy(update={"road_map": road_map}), legs, (JUNE,), {})
        for road_map in (farm.road_map, same, other)
    ]
    assert keys[0] == keys[1] != keys[2]


def test_the_digest_is_the_same_in_every_process() -> None:
    """Sets of words come in another order where words have other hashes; the example has crews' days off and a map."""
    code = (
        "import sys, datetime as dt; from pathlib import Path; from routing.stages import kept, plan, read;"
        "farm, date = read.farm_in(Path(sys.argv[1])), dt.date(2026, 12, 10);"
        "print(kept.key_of(*plan.prepared(farm, date), (date,), {}))"
    )
    words = [sys.executable, "-c", code, str(EXAMPLES / "hollin-vale")]
    told = [
        subprocess.run(words, env=env, capture_output=True, check=True, text=True).stdout.strip()
        for env in (another_hash_seed(), another_hash_seed() | {"PYTHONHASHSEED": "3"})
    ]
    date = dt.date(2026, 12, 10)
    assert told == [kept.key_of(*plan.prepared(farm_in(EXAMPLES / "hollin-vale"), date), (date,), {})] * 2
    assert len(told[0]) == 64


def test_every_question_is_answered_from_the_written_round_and_says_so(folder: Path, tmp_path: Path) -> None:
    on = ["--on", JUNE.isoformat()]
    questions = (
        ["plan", str(folder), *on],
        ["explain", str(folder), "A", *on],
        ["chance", str(folder), *on],
        ["what-if", str(folder), "--without", "A", *on],
        ["share", str(folder), "--gpx", str(tmp_path / "day.gpx"), *on],
    )
    told = [CliRunner().invoke(app, words) for words in questions]
    assert [one.exit_code for one in told] == [0] * len(told)
    assert all(AGAIN in one.stderr and AGAIN not in one.stdout for one in told)
    before = [one.stdout for one in told]
    shutil.rmtree(folder / "rounds")
    (tmp_path / "day.gpx").unlink()
    told = [CliRunner().invoke(app, words) for words in reversed(questions)][::-1]
    assert not any(AGAIN in one.stderr for one in told)
    assert [one.stdout for one in told] == before


def test_a_sure_round_is_found_again(folder: Path) -> None:
    words = ["plan", str(folder), "--on", JUNE.isoformat(), "--sure", "0.6"]
    first, second = (CliRunner().invoke(app, words) for _ in range(2))
    assert (AGAIN in first.stderr, AGAIN in second.stderr) == (False, True)
    assert first.stdout == second.stdout
    assert AGAIN not in CliRunner().invoke(app, [*words[:-1], "0.7"]).stderr
