"""The rules of the year: read from the package's defaults, with those of farm.toml over them."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from routing.farm.documents import Keys
from routing.farm.due_rules import read_due_rule, wanted
from routing.farm.faults import Faults, Names, quoted
from routing.farm.feed_rules import read_feed_rules
from routing.farm.kinds import load_catalogue
from routing.farm.models import JobKind
from routing.farm.package_tables import package_table
from routing.farm.sites import Sites
from routing.farm.swarm import INSPECTION, SwarmDays, interval_warning, read_swarm_days
from routing.farm.values import LONGEST_NOTE
from routing.farm.year import DueRule, SeasonRules
from routing.farm.year_values import month_day, queens

YEAR_TABLES = ("season", "due", "feed")
"""The tables of farm.toml that are read here."""
SEASON_KEYS = ("queens", "first_frost", "low_sites")


@cache
def swarm_days() -> SwarmDays:
    """Return the days of queen cells that come with the package."""
    return read_swarm_days(package_table("due.toml", Faults()).table("swarm"))


@cache
def default_year() -> SeasonRules:
    """Return the rules of the year as they come with the package. Raises ValueError where its files are wrong.

    Those that the package marks `wanted = false` are not in them: see `spare_rules`.
    """
    faults, catalogue = Faults(), load_catalogue()
    top, feed = package_table("due.toml", faults), package_table("feed.toml", faults)
    tables, season = top.table("due"), top.table("season")
    kinds = catalogue.job_kinds
    due = {key: read_due_rule(key, tables.table(key), None, kinds) for key in tables if wanted(tables.table(key))}
    rules = read_feed_rules(feed.table("feed"), None, Names({key: key for key in catalogue.materials}, str))
    if rules is None or faults.stopping:
        raise ValueError("\n".join(str(fault) for fault in faults.in_order(())))
    return SeasonRules(
        due={key: rule for key, rule in due.items() if rule},
        feed=rules,
        first_frost=season.text("first_frost"),
        first_frost_source=season.text("first_frost_source", longest=LONGEST_NOTE),
    )


@cache
def spare_rules() -> Mapping[str, DueRule]:
    """Return the rules that come with the package and hold only where farm.toml names them. Raises ValueError."""
    faults = Faults()
    tables = package_table("due.toml", faults).table("due")
    kinds = load_catalogue().job_kinds
    found = {key: read_due_rule(key, tables.table(key), None, kinds) for key in tables if not wanted(tables.table(key))}
    if faults.stopping:
        raise ValueError("\n".join(str(fault) for fault in faults.in_order(())))
    return MappingProxyType({key: rule for key, rule in found.items() if rule})


def read_year(top: Keys, kinds: Mapping[str, JobKind], materials: Names) -> SeasonRules | None:
    """Return the default rules with those of farm.toml over them, or None with faults noted.

    An interval between inspections that is too long for the queens is noted as a warning.
    """
    before = default_year()
    season = top.table("season")
    season.only(*SEASON_KEYS)
    clipped = season.take("queens", queens, before.queens)
    frost = season.take("first_frost", month_day, "")
    swarm, due = swarm_days(), dict(before.due)
    if clipped == "clipped":
        due[INSPECTION] = due[INSPECTION].model_copy(update={"every_days": swarm.clipped})
    _over(due, top.table("due"), kinds, spare_rules())
    feed = read_feed_rules(top.table("feed"), before.feed, materials)
    if feed is None or not top.ok:
        return None
    for rule in due.values():
        if warning := interval_warning(rule, clipped, swarm):
            top.table("due").table(rule.id).warn("every_days", warning)
    return SeasonRules(
        due=due,
        feed=feed,
        queens=clipped,
        first_frost=frost or before.first_frost,
        first_frost_source=top.document.source if frost else before.first_frost_source,
        low_sites=frozenset(season.texts("low_sites")),
    )


def with_low_sites(rules: SeasonRules | None, sites: Sites, faults: Faults) -> SeasonRules | None:
    """Return the rules with the ids of the low sites, whatever words name them; a fault for each that is no site."""
    if rules is None:
        return None
    found = {name: sites.find(name) for name in sorted(rules.low_sites)}
    for name in found:
        if sites.names.unknown(name):
            what = f"[season] low_sites names {quoted(name)}, which is not in {sites.file}"
            faults.add("farm.toml", 0, what, sites.names.hint(name))
    return rules.model_copy(update={"low_sites": frozenset(site.id for site in found.values() if site)})


def _over(due: dict[str, DueRule], tables: Keys, kinds: Mapping[str, JobKind], spare: Mapping[str, DueRule]) -> None:
    """Put the farm's own rules over the others, in place; a spare rule that is named comes in."""
    for key in tables:
        table = tables.table(key)
        rule = read_due_rule(key, table, due.get(key) or spare.get(key), kinds)
        if rule:
            due[key] = rule
        if not wanted(table):
            due.pop(key, None)
