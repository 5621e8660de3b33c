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


def violations(page: Page, part: str | None = None) -> dict[str, list[str]]:
    """Return the elements that break a rule, by its name: of the whole page, or of the part that a selector names."""
    found = Axe().run(page, context=part, options=OPTIONS).response["violations"]
    return {each["id"]: [node["html"][:200] for node in each["nodes"]] for each in found}
