"""What all tests share: a cache of their own, Ctrl-C that is heard, the example's round, and passphrases that cost little."""

from __future__ import annotations

import datetime as dt
import gc
import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings
from playwright.sync_api import Browser, Playwright, expect, sync_playwright

from routing.farm.folder import read_farm
from routing.planning.running.compiled_ahead import ALL
from routing.planning.search.compiling import compile_parts
from routing.round import Round
from routing.stages import plan as plan_stage
from routing.travel.roads.cache import cache_folder
from tests.share.browser import CHROMIUM, QUIET
from tests.together import folder_of_the_run, made_once

settings.register_profile("whatever the computer does besides", deadline=None)
settings.load_profile("whatever the computer does besides")

HOLLIN_VALE = Path(__file__).parents[1] / "examples" / "hollin-vale"


@pytest.hookimpl(trylast=True)
def pytest_collection_finish() -> None:
    """Spare the collector of garbage what is loaded by now and stays: it went through all of it again and again."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)


@pytest.fixture(scope="session", autouse=True)
def cache_of_its_own(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Keep road maps built by tests in a folder that goes when they end, built once for all tests."""
    before = os.environ.get("XDG_CACHE_HOME")
    folder = folder_of_the_run(tmp_path_factory) / "cache"
    os.environ["XDG_CACHE_HOME"] = str(folder)
    yield folder
    if before is None:
        del os.environ["XDG_CACHE_HOME"]
    else:
        os.environ["XDG_CACHE_HOME"] = before


@pytest.fixture(scope="session", autouse=True)
def ctrl_c_is_heard() -> Iterator[None]:
    """Hear Ctrl-C, and let the programs that tests start hear it, where whoever started the tests had it ignored."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.fixture(scope="session", autouse=True)
def compiled_ahead(tmp_path_factory: pytest.TempPathFactory, cache_of_its_own: Path) -> None:
    """Where several processes run tests, have each compile other parts first, and none what is already."""
    worker, kept = os.environ.get("PYTEST_XDIST_WORKER", ""), cache_folder("compiled")
    assert kept.is_relative_to(cache_of_its_own)
    for side in ALL if worker.endswith(("0", "2")) else reversed(ALL) if worker else ():
        for part in side:

            def compiled(part: str = part) -> str:
                compile_parts(kept, (part,))
                return ""

            made_once(folder_of_the_run(tmp_path_factory) / f"compiled-{part}", compiled)


@pytest.fixture(scope="session")
def hollin_vale(tmp_path_factory: pytest.TempPathFactory) -> Round:
    """Return the example's round of 10 December, nine stops and seven left out: planned once, for tests that read it."""

    def planned() -> str:
        return plan_stage.plan(read_farm(HOLLIN_VALE), dt.date(2026, 12, 10)).model_dump_json()

    return Round.model_validate_json(made_once(folder_of_the_run(tmp_path_factory) / "hollin-vale.json", planned))


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    """Return what drives every browser of this process: a second one beside it cannot be had."""
    expect.set_options(timeout=30_000)  # on a busy machine a page may take more than the usual five seconds
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="session")
def browser(playwright: Playwright) -> Iterator[Browser]:
    """Return the one Chromium of this process."""
    if not Path(CHROMIUM).exists():
        pytest.skip("no chromium on this computer")
    started = playwright.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
    yield started
    started.close()


@pytest.fixture
def few_key_rounds(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lock pages with a key that is quickly derived; what it is in earnest is tested in `test_locked.py`."""
    monkeypatch.setattr("routing.share.pages.locked.ROUNDS", 1000)
