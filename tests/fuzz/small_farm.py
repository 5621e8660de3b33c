"""The farms that inputs begin with, and the one that reports, logs and commands are read against."""

from __future__ import annotations

import tomllib
from functools import cache

from routing.farm.starter import STARTER
from tests.fuzz.inputs import Files
from tests.fuzz.target import EXAMPLES, ROOT

DAY = "2026-06-10"
DEFAULTS = ROOT / "routing" / "farm" / "defaults"


@cache
def starter() -> Files:
    """Return the farm that `outyard new` writes: every sort of setting is in it."""
    return {name: text.encode() for name, text in STARTER.items()}


@cache
def example() -> Files:
    """Return the example of four sites."""
    return _files("four-sites")


@cache
def without_map() -> Files:
    """Return the example of fourteen sites without its road map."""
    files = _files("hollin-vale")
    settings = files["farm.toml"].replace(b"[roads]", b"[stock]").replace(b"[stock]\nfondant", b"fondant")
    kept = [line for line in settings.splitlines(keepends=True) if not line.startswith((b"map =", b"credit ="))]
    return {**files, "farm.toml": b"".join(kept)}


@cache
def ruled() -> Files:
    """Return the starter's farm with the package's own tables of the year, weather, kinds and materials written into it."""
    tables = [(DEFAULTS / name).read_bytes() for name in ("feed.toml", "due.toml")]
    kept = [table[table.index(b"[feed]" if b"[feed]" in table else b"[due.") :] for table in tables]
    frost = b'[season]\nqueens = "clipped"\nfirst_frost = "10-20"\nlow_sites = ["meadow"]\n\n'
    return {**starter(), "farm.toml": starter()["farm.toml"] + b"\n" + frost + b"\n".join(kept)}


@cache
def without_rules() -> Files:
    """Return the example of four sites with all rules of the year but one switched off: to reckon them takes long."""
    rules = tomllib.loads((DEFAULTS / "due.toml").read_text(encoding="utf-8"))["due"]
    off = "".join(f"\n[due.{name}]\nwanted = false\n" for name in rules if name != "varroa-check")
    return {**example(), "farm.toml": example()["farm.toml"] + off.encode()}


def _files(name: str) -> Files:
    names = ("farm.toml", "sites.csv", "jobs.csv", "drives.csv")
    there = (EXAMPLES / name / file for file in names)
    return {path.name: path.read_bytes() for path in there if path.is_file()}
