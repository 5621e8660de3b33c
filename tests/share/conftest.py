"""Documents opened in the browser of all tests."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.share.browser import Opener


@pytest.fixture
def opened(browser: Browser, tmp_path: Path) -> Iterator[Opener]:
    opener = Opener(browser, tmp_path)
    yield opener
    opener.close()
    assert opener.troubles == []
