"""What both HTML pages share: templates with escaping always on, and a policy that lets nothing in from outside."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Iterable
from functools import cache
from importlib import resources

from jinja2 import Environment, PackageLoader, StrictUndefined

COMMENT = re.compile(r"^\s*/\*.*?\*/\s*?$", re.DOTALL | re.MULTILINE)
"""One that has its lines to itself."""


def template_text(name: str) -> str:
    """Return a file of the `templates` folder. Raises FileNotFoundError where it is not there.

    A script comes without its indents and the lines that only comment: a phone has to keep every page. None of ours has
    a text of several lines.
    """
    text = resources.files("routing.share").joinpath("templates", name).read_text(encoding="utf-8")
    if not name.endswith(".js"):
        return text
    lines = (line.strip() for line in COMMENT.sub("", text).splitlines())
    return "".join(f"{line}\n" for line in lines if line and not line.startswith("//"))


@cache
def environment() -> Environment:
    """Return a Jinja2 environment that escapes every value and refuses names that are not given.

    There is one, which keeps what it has compiled: a template takes 20 ms, a day line is drawn for every day of a crew.
    """
    return Environment(
        loader=PackageLoader("routing.share"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def content_policy(
    styles: Iterable[str], scripts: Iterable[str] = (), pictures: str = "", *, workers: bool = False
) -> str:
    """Return a Content-Security-Policy that allows exactly these inline texts and no request to anywhere.

    `pictures` is the one host, such as `https://tiles.example`, that the page may ask for pictures; empty for none.
    Where it has `workers`, it may make them of its own text, and these may ask for nothing either.

    Source: W3C Content Security Policy Level 3, hash sources.
    """
    parts = ["default-src 'none'", f"img-src data: {pictures}".strip(), f"style-src {_hashes(styles)}"]
    if scripts := _hashes(scripts):
        parts.append(f"script-src {scripts}")
    if workers:
        parts.append("worker-src blob:")
    return "; ".join([*parts, "base-uri 'none'", "form-action 'none'"])


def script_value(value: object) -> str:
    """Return a value of lists, mappings, texts and numbers as JSON that no text can end.

    It is in ASCII, with angle brackets and ampersands escaped.

    Source: HTML Living Standard, restrictions on the contents of script elements.
    """
    text = json.dumps(value)
    for mark in "<>&":
        text = text.replace(mark, f"\\u{ord(mark):04x}")
    return text


def _hashes(texts: Iterable[str]) -> str:
    return " ".join(f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'" for text in texts)
