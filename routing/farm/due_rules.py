"""One rule of when a job kind falls due, read from a table over the rule of the same name."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from routing.farm.documents import Keys, as_text, as_whole
from routing.farm.faults import nearest, one_of
from routing.farm.models import JobKind
from routing.farm.unfit import UnfitError
from routing.farm.values import LONGEST_NOTE, identity
from routing.farm.year import DueRule
from routing.farm.year_values import all_or_seen, month_day, rank, true_or_false
from routing.farm.year_words import EVENTS, SEEN

HOWS = ("every_days", "by", "after", "stores_below_kg")
"""The ways in which a rule says when; each rule has one."""
FIGURES = ("every_days", "earliest_days", "latest_days", "stores_below_kg", "now_below_kg")
PARSERS: Mapping[str, Callable[[object], object]] = {
    "rank": rank,
    "starts": month_day,
    "by": month_day,
    "fed_by": month_day,
    "ends": month_day,
    "early_days": as_whole(0, 60),
    "low_sites_days_earlier": as_whole(0, 60),
    "before_frost": true_or_false,
    "hives": all_or_seen,
    "needs_stores_kg": true_or_false,
}
KEYS = ("job", "source", "after", "wanted", "closed_by", *FIGURES, *PARSERS)
GO_WITH = {
    "after": ("earliest_days", "latest_days", "hives"),
    "stores_below_kg": ("now_below_kg", "fed_by"),
}
"""Keys that mean something only in a rule that says when in this way."""
MOST_DAYS = 366.0


def read_due_rule(key: str, keys: Keys, base: DueRule | None, kinds: Mapping[str, JobKind]) -> DueRule | None:
    """Return one rule, or None with faults noted; what the table does not say is as in `base`."""
    keys.only(*KEYS)
    keys.needs(*([] if base else ["job"]))
    nothing: tuple[str, ...] = ()
    given: dict[str, object] = {"id": _id(key, keys)}
    given["job"] = keys.take("job", lambda value: _job(value, kinds), base.job if base else "")
    if base is None or {*HOWS, "starts", "ends", "fed_by", "source"} & set(keys):
        given["source"] = keys.text("source", keys.document.source, LONGEST_NOTE)
    given |= {name: keys.figure(name, MOST_DAYS, None) for name in FIGURES if name in keys}
    given |= {name: keys.take(name, parse, None) for name, parse in PARSERS.items() if name in keys}
    if "after" in keys:
        given["after"] = keys.take("after", lambda value: _after(value, kinds), "")
    if "closed_by" in keys:
        given["closed_by"] = keys.take("closed_by", lambda value: _kinds(value, kinds), nothing)
    if not keys.ok:
        return None
    rule = DueRule.model_validate({**(base.model_dump() if base else {}), **given})
    _check(rule, keys)
    return rule if keys.ok else None


def keys_of(rule: DueRule) -> tuple[str, ...]:
    """Return the keys that mean something in a rule: one way of saying when, what goes with it, and what all have."""
    other = {how for how in HOWS if not getattr(rule, how)}
    other |= {key for how in other for key in GO_WITH.get(how, ())}
    return tuple(key for key in KEYS if key not in other)


def wanted(keys: Keys) -> bool:
    """Return whether the farmer wants the rule at all: `wanted = false` takes it away."""
    return keys.take("wanted", true_or_false, default=True)


def _check(rule: DueRule, keys: Keys) -> None:
    hows = [how for how in HOWS if getattr(rule, how)]
    if len(hows) != 1:
        keys.fault("", "must say exactly one of " + ", ".join(HOWS) + f", and has {len(hows)}")
    if rule.every_days and rule.every_days.value < 1:
        keys.fault("every_days", "every_days must be at least 1")
    if rule.hives == "seen" and not rule.after:
        keys.fault("hives", 'hives = "seen" goes with after')
    for key in ("fed_by", "now_below_kg"):
        if getattr(rule, key) and not rule.stores_below_kg:
            keys.fault(key, "goes with stores_below_kg, which the rule does not have")
    earliest, latest = rule.earliest_days, rule.latest_days
    if rule.after and (earliest is None or latest is None or earliest.value > latest.value):
        keys.fault("after", "needs earliest_days and latest_days, the first not above the second")


def _id(key: str, keys: Keys) -> str:
    """Return the rule's name; it stands in the ids of jobs between colons, so it may hold none."""
    try:
        name = identity(key)
    except UnfitError as error:
        keys.fault("", f"has a name that {error}")
        return ""
    if ":" in name:
        keys.fault("", "has a name that holds a colon")
    return name


def _job(value: object, kinds: Mapping[str, JobKind]) -> str:
    word = as_text(value)
    if word not in kinds:
        raise UnfitError("is not a job kind: " + (nearest(word, kinds) or one_of(kinds)))
    return word


def _kinds(value: object, kinds: Mapping[str, JobKind]) -> tuple[str, ...]:
    if not isinstance(value, list):
        raise UnfitError('is not a list of job kinds, such as ["requeen", "unite"]')
    return tuple(dict.fromkeys(_job(word, kinds) for word in value))


def _after(value: object, kinds: Mapping[str, JobKind]) -> str:
    word, known = as_text(value), (*kinds, *EVENTS, *SEEN)
    if word not in known:
        raise UnfitError("is no job kind, event or thing seen: " + (nearest(word, known) or one_of((*EVENTS, *SEEN))))
    return word
