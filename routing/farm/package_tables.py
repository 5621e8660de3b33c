"""The tables that come with the package, each parsed once: of the time to read a farm it was seven eighths."""

from __future__ import annotations

from functools import cache
from importlib import resources

from routing.farm.documents import Keys, parse_document
from routing.farm.faults import Faults


def package_table(name: str, faults: Faults) -> Keys:
    """Return the top table of a file in `defaults/`, noting faults. Raises ValueError where it is no TOML."""
    return _parsed(name).noted_in(faults)


@cache
def _parsed(name: str) -> Keys:
    faults = Faults()
    text = resources.files("routing.farm").joinpath("defaults", name).read_text(encoding="utf-8")
    document = parse_document(text, name, faults)
    if document is None:
        raise ValueError("\n".join(str(fault) for fault in faults.in_order(())))
    return document
