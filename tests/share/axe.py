"""What axe-core finds in a page: every rule that it has on by default, WCAG 2.2 AA among them, and target size."""

from __future__ import annotations

from typing import Any

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page

OPTIONS: dict[str, Any] = {
    "rules": {"target-size": {"enabled": True}},
    "resultTypes": ["violations"],
    "iframes": False,
}
"""Target size is WCAG 2.2, 2.5.8. A frame of another origin cannot be looked into from outside: it is opened by itself."""


COLOURS = (
    "color-contrast",
    "link-in-text-block",
)
"""The rules whose answer may be another where a page is the same in other colours: those of axe-core's `cat.color`."""

RUN = """async ([part, options]) => {
  const found = await (part === null ? axe.run(options) : axe.run(part, options));
  return found.violations.map((each) => [each.id, each.nodes.map((node) => node.html.slice(0, 200))]);
}"""


def violations(page: Page, part: str | None = None, rules: tuple[str, ...] = ()) -> dict[str, list[str]]:
    """Return the elements that break a rule, by its name: of the whole page, or of the part that a selector names.

    Of every rule, or of some alone, by name.
    """
    if not page.evaluate("'axe' in window"):  # once a document: it is half a megabyte to read
        page.evaluate(AXE_SCRIPT)
    options = OPTIONS | {"runOnly": list(rules), "rules": {}} if rules else OPTIONS
    return dict(page.evaluate(RUN, [part, options]))


SHORTENED = """document.querySelectorAll('main details:not([open])').forEach((each) => each.remove());
  document.querySelectorAll('main section').forEach((each) => each.childElementCount || each.remove());"""


def violations_in(page: Page, part: str) -> dict[str, list[str]]:
    """Return what `violations` does of a part of a long page, out of which all that is folded away is taken first.

    axe goes through the whole page for whichever part of it: 5 s for the 17,000 elements of a farm's every number.
    """
    page.evaluate(SHORTENED)
    return violations(page, part)
