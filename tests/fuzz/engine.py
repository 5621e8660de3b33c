"""The two ways to go on from the seeds: guided by what code an input reaches, or by chance alone.

Guided it is by atheris, Google's coverage-guided fuzzer for Python (Apache-2.0), where that is installed: it keeps inputs
that reach new branches of our package and changes those. It has wheels for Linux on x86-64, so elsewhere chance must do.
"""

from __future__ import annotations

import atexit
import importlib
import importlib.util
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

from tests.fuzz.inputs import Files, packed, unpacked
from tests.fuzz.target import ROOT, Target, scratch

LONGEST_INPUT = 200_000
MOST_SECONDS_AN_INPUT = 120
MOST_MEGABYTES = 6000
NOT_GUIDED_BY = ("planning", "check")
"""Packages that no target means to reach; some of their functions are compiled, which a changed bytecode stops."""

Heard = Callable[[Files], bool]
"""Is called with every input; returns whether to go on."""


def guided() -> bool:
    """Return whether inputs can be guided here."""
    return importlib.util.find_spec("atheris") is not None


def watch() -> None:
    """Have every module of the package that is imported from now on tell what of it is reached."""
    atheris: Any = importlib.import_module("atheris")
    paths = [path for name in NOT_GUIDED_BY for path in (ROOT / "routing" / name).rglob("*.py")]
    passed_over = [".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__") for path in paths]
    watching = atheris.instrument_imports(include=["routing"], exclude=passed_over, enable_loader_override=False)
    watching.__enter__()  # for good: commands import what they need when they run


def run_guided(target: Target, seed: int, heard: Heard, end: Callable[[], int]) -> None:
    """Run inputs until `heard` says no; then the process ends at once with the exit code that `end` returns."""
    atheris: Any = importlib.import_module("atheris")
    kept = scratch()
    for number, files in enumerate(target.seeds):
        (kept / f"seed-{number}").write_bytes(packed(files))

    def one(data: bytes) -> None:
        if not heard(unpacked(data, target.grammars)):
            code = end()
            sys.stdout.flush()
            atexit._run_exitfuncs()  # the folders in memory go
            os._exit(code)  # the library never returns

    def change(data: bytes, _most: int, number: int) -> bytes:
        return packed(target.changed(unpacked(data, target.grammars), Random(number)))[:LONGEST_INPUT]

    limits = (f"-seed={seed or 1}", f"-max_len={LONGEST_INPUT}", f"-timeout={MOST_SECONDS_AN_INPUT}", "-len_control=0")
    quiet = (f"-rss_limit_mb={MOST_MEGABYTES}", "-verbosity=0", "-print_final_stats=0", f"-artifact_prefix={kept}/")
    atheris.Setup([sys.argv[0], *limits, *quiet, str(kept)], one, custom_mutator=change, internal_libfuzzer=True)
    atheris.Fuzz()


def run_by_chance(target: Target, seed: int, heard: Heard) -> None:
    """Change seeds, and what came of them, until `heard` says no."""
    chance, kept = Random(seed), list(target.seeds)
    files = chance.choice(kept)
    while heard(files):
        if chance.random() < 0.01:
            kept = [*target.seeds, *kept[len(target.seeds) :], files][: len(target.seeds) + 50]
        files = target.changed(chance.choice(kept), chance)


def until(seconds: float) -> Callable[[], bool]:
    """Return a function that says whether the time is not over yet."""
    end = time.monotonic() + seconds
    return lambda: time.monotonic() < end


def seeds_folder() -> Path:
    """Return where the inputs of faults found are kept, a folder for each target."""
    return Path(__file__).parent / "seeds"
