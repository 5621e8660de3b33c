"""How stores go down: read from a table over what came before."""

from __future__ import annotations

from collections.abc import Mapping

from routing.farm.basics import Figure
from routing.farm.documents import Keys
from routing.farm.faults import Names, quoted
from routing.farm.values import LONGEST_NOTE
from routing.farm.year import FeedRules
from routing.farm.year_values import by_month, month_day

FIGURES = (
    *("use_kg_a_day", "use_at_c", "use_spread_share", "site_use_share", "warmer_kg_a_day", "least_kg_a_day"),
    *("brood_kg_a_day", "winter_spread_c", "colony_spread_kg", "heft_error_kg", "unknown_kg", "unknown_spread_kg"),
    *("feed_lasts_days", "days_between_feeds", "order_days"),
)
DAYS = ("starts", "ends", "spread_from")
BY_MATERIAL = ("stores_kg_a_unit", "most_a_feed")
MOST_WARMER = 20.0
BY_MONTH: Mapping[str, tuple[float, float]] = {"brood_share": (0.0, 1.0), "mean_c": (-40.0, 45.0)}
KEYS = (*FIGURES, *DAYS, *BY_MONTH, "brood_share_source", "mean_c_source", "warmer_by_c", *BY_MATERIAL)
LARGEST = 366.0


def read_feed_rules(keys: Keys, base: FeedRules | None, materials: Names) -> FeedRules | None:
    """Return the feed rules, or None with faults noted; what the table does not say is as in `base`."""
    keys.only(*KEYS)
    given: dict[str, object] = {name: keys.figure(name, LARGEST, None) for name in FIGURES if name in keys}
    given |= {day: keys.take(day, month_day, None) for day in DAYS if day in keys}
    for name, (low, high) in BY_MONTH.items():
        given |= _monthly(keys, name, low, high)
    if "warmer_by_c" in keys:
        given["warmer_by_c"] = keys.number("warmer_by_c", -MOST_WARMER, MOST_WARMER, 0.0)
    for name in BY_MATERIAL:
        known: Mapping[str, Figure] = getattr(base, name) if base else {}
        given[name] = _by_material(keys.table(name), known, materials)
    if not keys.ok:
        return None
    return FeedRules.model_validate({**(base.model_dump() if base else {}), **given})


def _monthly(keys: Keys, name: str, low: float, high: float) -> dict[str, object]:
    """Return twelve numbers and their source, or nothing where the table does not give them."""
    if name not in keys:
        return {}
    numbers = keys.take(name, lambda value: by_month(value, low, high), None)
    return {name: numbers, f"{name}_source": keys.text(f"{name}_source", keys.document.source, LONGEST_NOTE)}


def _by_material(keys: Keys, known: Mapping[str, Figure], materials: Names) -> dict[str, Figure]:
    """Return the known figures with those of the table over them."""
    figures = dict(known)
    for material in keys:
        if materials.unknown(material):
            keys.fault(material, f"names no known material: {quoted(material)}", materials.hint(material))
        figure = keys.figure(material, 100, None)
        if figure:
            figures[material] = figure
    return figures
