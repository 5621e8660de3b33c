"""All targets, by name."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache

from tests.fuzz.of_book import book_target
from tests.fuzz.of_farm import farm_target
from tests.fuzz.of_log import log_target
from tests.fuzz.of_map import map_target
from tests.fuzz.of_options import options_target
from tests.fuzz.of_season import records_target, table_target, weather_target
from tests.fuzz.of_share import report_target, round_target
from tests.fuzz.target import Target

MAKERS: Mapping[str, Callable[[], Target]] = {
    "farm": farm_target,
    "book": book_target,
    "weather": weather_target,
    "records": records_target,
    "table": table_target,
    "log": log_target,
    "report": report_target,
    "round": round_target,
    "map": map_target,
    "options": options_target,
}


@cache
def target_of(name: str) -> Target:
    """Return the target of a name, made once."""
    return MAKERS[name]()
