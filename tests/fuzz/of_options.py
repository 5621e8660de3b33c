"""The target `options`: command lines on a small farm, in this process, with the search for rounds stood in for.

Words that lead out of the folder of the run are taken out of it first: what is tried here never writes elsewhere.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from random import Random

from routing.__main__ import strange
from routing.season.csv_files import entries_csv
from routing.share.exports.files import round_json
from tests.fuzz import small_farm
from tests.fuzz.commands import ran, searched
from tests.fuzz.inputs import Files
from tests.fuzz.mutate import any_value, like, lines_changed
from tests.fuzz.of_season import BY_HOUR, some_entries
from tests.fuzz.of_share import good_report, good_round
from tests.fuzz.target import Target, scratch, written

LONGEST_COMMAND = 40
LINES = (
    *(
        "read F",
        "kinds F",
        "light F --on 2026-06-10",
        "fit F --on 2026-06-10 --json",
        "learned F",
        "schema",
        "log list F",
    ),
    *("plan F --on 2026-06-10 --days 2 --json", "plan F --on today --even --seconds 2 --full --turns --with-private"),
    *("plan F --sure 0.9 --nicknames", "roads F", "weather show F", "season F --on 2026-06-10 --out F/s.html"),
    *("explain F A --on 2026-06-10", "explain F Alder", "try F --order A,B,Cherry --on 2026-06-10 --crew one --json"),
    *("replan F --at 09:30 --from A --on 2026-06-10 --done A:weekly-inspection --on-board fondant=40 --crew one",),
    *("replan F --at 09:30 --from 52.3,-2.5 --done B --seconds 5 --json", "what-if F --start 07:00 --home-by 14:30"),
    *("what-if F --people 1 --vehicle van --trips 2 --without A --without B", "compare F/round.json F/round.json"),
    *("share F --round F/round.json --gpx F/r.gpx --ical F/r.ics --geojson F/r.json --csv F/r.csv --with-private",),
    *("share F --on 2026-06-10 --gpx F/r.gpx --nicknames", "done F F/report.txt --json", "done F F/report.txt --log"),
    *(
        "due F --on 2026-06-10 --json",
        "due list F",
        "due cancel F --rule varroa-check --site A --why rain --on 2026-06-10",
    ),
    *(
        "feed F --on 2026-06-10 --weeks 4 --json",
        "log undo F",
        "log export F --out F/l.csv",
        "log begin F --counts-from today",
    ),
    *(
        "log add F --site A --kind heft --on 2026-06-01 --time 14:30 --minutes 20 --crew one --people 1 --hives 5 --stores-kg 9",
    ),
    *("log add F --site all --kind fondant --used fondant=2.5 --seen queen-cells=2 --queen-cells 3 --note x --partly",),
    *("log add F --site B --kind oxalic --product P --batch 1 --dose 2 --amount 3 --withdrawal-days 0 --days-in 42",),
    *("log add F --site B --kind storm --counts-from 2026-01-01 --bought-on 2026-01-01 --disposed-on 2026-02-01",),
    *(
        "log import F F/log.csv --counts-from 2026-01-01",
        "log list F --site A --undone",
        "log erase F --before 2026-01-01",
    ),
    *("open F --no-browser", "new N", "--help", "log", "weather fetch --help"),
)

OPTIONS = tuple(sorted({word for line in LINES for word in line.split() if word.startswith("--") and word != "--help"}))


def options_target() -> Target:
    """Return the target."""
    folder = scratch()
    (folder / "F").mkdir()
    round_ = good_round()
    beside = {"round.json": round_json(round_).encode(), "report.txt": good_report(), "weather.csv": BY_HOUR}
    beside["log.csv"] = entries_csv(some_entries()).encode()
    always = {**small_farm.example(), **beside}

    def run(files: Files) -> None:
        words = [
            word for line in files.get("words", b"").decode("utf-8", "replace").split("\n") if (word := inside(line))
        ]
        if strange(words):  # the program goes no further
            return
        if "fetch" in words and "--help" not in words:  # it would use the network
            return
        for left in folder.iterdir():
            if left.name != "F":
                written({}, left) if left.is_dir() else left.unlink()
        written({}, folder / "F", always)
        with searched(round_):
            ran(words[:LONGEST_COMMAND], folder)

    seeds = tuple({"words": "\n".join(line.split(" ")).encode()} for line in LINES)
    modules = (
        "cli/app.py",
        "cli/plan.py",
        "cli/due.py",
        "cli/log_add.py",
        "cli/questions.py",
        "cli/own.py",
        "farm/year_words.py",
    )
    return Target("options", {"words": words_changed}, seeds, run, modules)


def words_changed(content: bytes, chance: Random, words: Sequence[str]) -> bytes:
    """Change what is given for an option more often than the command and the options' own names; a word is a line."""
    lines = content.decode("utf-8", "replace").split("\n")
    given = [at for at in range(1, len(lines)) if lines[at - 1].startswith("--")]
    kind = chance.random()
    if kind < 0.2:
        return lines_changed(content, chance, words)
    if kind < 0.35 or not given:
        lines += [chance.choice(OPTIONS), any_value(chance, words)]
        return "\n".join(lines).encode("utf-8", "replace")
    at = chance.choice(given)
    lines[at] = like(lines[at], chance, words).replace("\n", " ")
    if chance.random() < 0.2:
        lines[at - 1 : at + 1] = [f"{lines[at - 1]}={lines[at]}"]
    return "\n".join(lines).encode("utf-8", "replace")


def inside(word: str) -> str:
    """Return a word without anything that leads out of the folder that commands are run in, and without NUL."""
    option, sign, value = word.partition("=") if word.startswith("-") else ("", "", word)
    parts = [part for part in re.split(r"[/\\\\]", value) if part not in {"", "..", "~"}]
    return f"{option}{sign}{'/'.join(parts)}".replace("\x00", "").removeprefix("~").removeprefix("/")
