"""The browser that the page tests share."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from tests.share.browser import CHROMIUM, QUIET, Opener


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if not Path(CHROMIUM).exists():
        pytest.skip("no chromium on this computer")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        yield started
        started.close()


@pytest.fixture
def opened(browser: Browser, tmp_path: Path) -> Iterator[Opener]:
    opener = Opener(browser, tmp_path)
    yield opener
    opener.close()
    assert opener.troubles == []
