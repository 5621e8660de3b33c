"""What axe-core finds in a page: every rule that it has on by default, WCAG 2.2 AA among them, and target size."""

from __future__ import annotations

from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

OPTIONS: dict[str, Any] = {
    "rules": {"target-size": {"enabled": True}},
    "resultTypes": ["violations"],
    "iframes": False,
}
"""Target size is WCAG 2.2, 2.5.8. A frame of another origin cannot be looked into from outside: it is opened by itself."""

SHORTENED = """document.querySelectorAll('main details:not([open])').forEach((each) => each.remove());
  document.querySelectorAll('main section').forEach((each) => each.childElementCount || each.remove());"""


def violations(page: Page, part: str | None = None) -> dict[str, list[str]]:
    """Return the elements that break a rule, by its name: of the whole page, or of the part that a selector names."""
    found = Axe().run(page, context=part, options=OPTIONS).response["violations"]
    return {each["id"]: [node["html"][:200] for node in each["nodes"]] for each in found}


def violations_in(page: Page, part: str) -> dict[str, list[str]]:
    """Return what `violations` does of a part of a long page, out of which all that is folded away is taken first.

    axe goes through the whole page for whichever part of it: 5 s for the 17,000 elements of a farm's every number.
    """
    page.evaluate(SHORTENED)
    return violations(page, part)
