"""Documents opened in the browser of all tests."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from routing.share.pages.inline import template_text
from tests.share.browser import Opener
from tests.share.field_days import SEARCH


@pytest.fixture
def opened(browser: Browser, tmp_path: Path) -> Iterator[Opener]:
    opener = Opener(browser, tmp_path)
    yield opener
    opener.close()
    assert opener.troubles == []


@pytest.fixture(scope="module")
def phone(browser: Browser) -> Iterator[Page]:
    """Return a page with the search of the phone's page, and nothing else."""
    page = browser.new_page()
    page.add_script_tag(content="".join(map(template_text, SEARCH)))
    yield page
    page.close()
