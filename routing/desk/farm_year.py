"""The rules of the year that the Farm view lets one change: the season, when job kinds fall due, stores and feed."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from routing.desk.farm_field import FarmField, Group, Kind, Table, Way
from routing.desk.farm_make import UNSAID, Maker
from routing.farm.basics import Rank
from routing.farm.due_rules import FIGURES, keys_of
from routing.farm.feed_rules import BY_MONTH, DAYS
from routing.farm.models import Farm
from routing.farm.workbook_cells import number_text
from routing.farm.year import DueRule, FeedRules, SeasonRules
from routing.farm.year_rules import default_year, spare_rules
from routing.farm.year_words import EVENTS, SEEN
from routing.plain_words import MONTHS
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording.farm_keys import key_words, month_words
from routing.share.wording.farm_numbers import year_numbers

NOT_WANTED = "Rules that are not wanted"
QUEENS = ("unclipped", "clipped")
_KINDS = {
    **dict.fromkeys(("starts", "by", "fed_by", "ends"), Kind.DAY),
    **dict.fromkeys(("early_days", "low_sites_days_earlier"), Kind.NUMBER),
    **dict.fromkeys(("before_frost", "needs_stores_kg"), Kind.TRUTH),
    "source": Kind.TEXT,
}
"""How a key of a rule is typed that is no choice and no figure."""


@dataclass(frozen=True)
class Year:
    """Makes the values of the rules of the year."""

    farm: Farm
    make: Maker
    rules: SeasonRules

    def season(self) -> Group:
        """Return what counts for the whole season."""
        frost, source = self.rules.first_frost, plain_text(self.rules.first_frost_source)
        fields = (
            self.make.one(("season", "queens"), self.rules.queens, Kind.CHOICE, QUEENS),
            self.make.one(("season", "first_frost"), frost, Kind.DAY, unsaid=source),
            self.make.ticked(
                ("season", "low_sites"), sorted(self.rules.low_sites), (site.id for site in self.farm.sites)
            ),
        )
        return Group("The season", fields)

    def feed(self) -> Iterator[FarmField]:
        """Yield what of stores and feed is no number with its own source."""
        rules = self.rules.feed
        for key in DAYS:
            yield self.make.one(("feed", key), getattr(rules, key), Kind.DAY)
        yield self.make.one(("feed", "warmer_by_c"), rules.warmer_by_c, Kind.NUMBER)
        for key in BY_MONTH:
            yield self._monthly(key, rules)

    def due(self) -> Iterator[Group]:
        """Yield the rules that hold, and at the end those that do not."""
        for rule, told in year_numbers(self.farm):
            own = json.dumps(["due", rule.id]) if self.make.said.value(("due", rule.id)) is not None else ""
            fields = tuple(self._field(rule, key) for key in _in_order(rule))
            yield Group(f"{told.kind}, {told.rank}: {told.when}", fields, own, told.id, (told.source,))
        if not_wanted := tuple(self._not_wanted()):
            yield Group(NOT_WANTED, not_wanted)

    def _not_wanted(self) -> Iterator[FarmField]:
        """Yield for each rule that does not hold whether it is wanted."""
        said = self.make.said.value(("due",))
        own: Mapping[str, object] = said if isinstance(said, Mapping) else {}
        known: Mapping[str, DueRule] = {**default_year().due, **spare_rules()}
        for key in sorted((own.keys() | known.keys()) - self.rules.due.keys()):
            job = self.make.said.value(("due", key, "job")) or (known[key].job if key in known else "")
            kind = self.farm.job_kinds.get(str(job))
            name = f"{plain_name(kind.name)} [{plain_name(key)}]" if kind else plain_name(key)
            source = plain_text(known[key].source) if key in known else UNSAID
            yield self.make.one(("due", key, "wanted"), "no", Kind.TRUTH, name=name, unsaid=source)

    def _field(self, rule: DueRule, key: str) -> FarmField:
        way: Way = ("due", rule.id, key)
        if key in FIGURES:
            return self.make.a_figure(way, getattr(rule, key), "it does not matter")
        if key == "wanted":
            return self.make.one(way, "yes", Kind.TRUTH)
        kinds = sorted(self.farm.job_kinds)
        if key == "closed_by":
            return self.make.ticked(way, rule.closed_by, kinds)
        choices: Mapping[str, Callable[[], tuple[str, ...]]] = {
            "job": lambda: tuple(kinds),
            "rank": lambda: tuple(rank.value for rank in Rank),
            "hives": lambda: ("all", "seen"),
            "after": lambda: (*kinds, *EVENTS, *SEEN),
        }
        if key in choices:
            return self.make.one(way, str(getattr(rule, key)), Kind.CHOICE, choices[key]())
        kind = _KINDS[key]
        source = plain_text(rule.source) if kind is Kind.DAY else UNSAID
        return self.make.one(way, getattr(rule, key), kind, unsaid=source)

    def _monthly(self, key: str, rules: FeedRules) -> FarmField:
        numbers: tuple[float, ...] = getattr(rules, key)
        rows = tuple((number_text(number),) for number in numbers)
        table = Table((key_words(key),), rows, MONTHS)
        return self.make.rows(("feed", key), month_words(rows), table, f"{key}_source", getattr(rules, f"{key}_source"))


def _in_order(rule: DueRule) -> tuple[str, ...]:
    """Return the keys of a rule, those first by which one knows it."""
    first = ("wanted", "job", "rank", "after", "starts", "by", "fed_by", "ends")
    keys = keys_of(rule)
    return (*(key for key in first if key in keys), *(key for key in keys if key not in first))
