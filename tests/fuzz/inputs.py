"""An input of a target: the content of some named files, and the one text that it is kept as."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping

Files = Mapping[str, bytes]
"""Content by name; what a target does not name is not there."""

_RULE = re.compile(rb"^=====\[ ([ -~]{1,60}) \]=====\n", re.MULTILINE)


def packed(files: Files) -> bytes:
    """Return the files as one text, each under a line with its name."""
    return b"".join(b"=====[ " + name.encode() + b" ]=====\n" + content + b"\n" for name, content in files.items())


def unpacked(text: bytes, names: Collection[str]) -> Files:
    """Return the files of a text, whatever bytes it holds; names that are not asked for are passed over."""
    found: dict[str, bytes] = {}
    rules = list(_RULE.finditer(text))
    for rule, after in zip(rules, [*rules[1:], None], strict=False):
        name = rule[1].decode()
        if name in names:
            content = text[rule.end() : after.start() if after else len(text)]
            found[name] = content.removesuffix(b"\n")
    return found
