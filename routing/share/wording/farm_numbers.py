"""The numbers of a farm in words, each with its source and how sure it is: as they would be written in farm.toml."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from routing.farm.models import Farm, Figure, Frozen
from routing.farm.workbook_cells import number_text
from routing.farm.year import DueRule
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording.kinds import SURENESS, kind_figures, kind_limits, kind_needs, kind_ways

RULES, ROADS, FEED = "Rules", "Roads and walks", "Stores and feed"
"""Titles of the farm-wide rules."""


@dataclass(frozen=True)
class Number:
    """One number."""

    name: str
    value: str
    sure: str
    source: str
    way: tuple[str, ...] = ()
    """The keys by which farm.toml says it; empty for a limit in words."""


@dataclass(frozen=True)
class KindNumbers:
    """A job kind with all its numbers."""

    id: str
    name: str
    needs: str
    numbers: tuple[Number, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class RuleNumbers:
    """A rule of the year: what it asks for, with its numbers and where its dates come from."""

    id: str
    kind: str
    rank: str
    when: str
    numbers: tuple[Number, ...]
    source: str


def rule_numbers(farm: Farm) -> tuple[tuple[str, tuple[Number, ...]], ...]:
    """Return the farm-wide rules, those of the roads and those of feed, each group under its title."""
    groups: list[tuple[str, Frozen | None, tuple[str, ...]]] = [
        (RULES, farm.rules, ("rules",)),
        (ROADS, farm.rules.roads, ("rules", "roads")),
        (FEED, farm.season.feed if farm.season is not None else None, ("feed",)),
    ]
    found = [(title, tuple(_numbers(model, way))) for title, model, way in groups if model is not None]
    return tuple((title, numbers) for title, numbers in found if numbers)


def kind_numbers(farm: Farm) -> tuple[KindNumbers, ...]:
    """Return the job kinds by their names."""
    kinds = sorted(farm.job_kinds.values(), key=lambda kind: kind.name.casefold())
    return tuple(
        KindNumbers(
            plain_name(kind.id),
            plain_name(kind.name),
            kind_needs(kind),
            (
                *(
                    figure_number(name, figure, ("job_kind", kind.id, *way))
                    for (name, figure), way in zip(kind_figures(kind), kind_ways(kind), strict=True)
                ),
                *(Number("not", words, "", plain_text(source)) for words, source in kind_limits(kind)),
            ),
            tuple(plain_text(caution) for caution in kind.cautions),
        )
        for kind in kinds
    )


def year_numbers(farm: Farm) -> tuple[tuple[DueRule, RuleNumbers], ...]:
    """Return the rules of the year by the names of their work, each with its words."""
    rules = farm.season.due.values() if farm.season is not None else ()
    found = [(rule, _rule_numbers(farm, rule)) for rule in rules]
    return tuple(sorted(found, key=lambda one: (one[1].kind.casefold(), one[0].id)))


def _rule_numbers(farm: Farm, rule: DueRule) -> RuleNumbers:
    return RuleNumbers(
        plain_name(rule.id),
        plain_name(farm.job_kinds[rule.job].name),
        rule.rank,
        f"{rule.starts} to {rule.ends}" + (f", by {rule.by}" if rule.by else ""),
        tuple(_numbers(rule, ("due", rule.id))),
        plain_text(rule.source),
    )


def _numbers(model: Frozen, at: tuple[str, ...]) -> Iterator[Number]:
    """Yield every number that a part of the farm has with a source, by its name in the files."""
    for name, value in model:
        if isinstance(value, Figure):
            yield figure_number(name, value, (*at, name))
        elif isinstance(value, Mapping):
            for key, figure in value.items():
                if isinstance(figure, Figure):
                    yield figure_number(f"{name}: {plain_name(str(key))}", figure, (*at, name, str(key)))


def figure_number(name: str, figure: Figure, way: tuple[str, ...]) -> Number:
    """Return a number under a name, with the keys by which farm.toml says it."""
    return Number(
        name.replace("_", " "), number_text(figure.value), SURENESS[figure.confidence], plain_text(figure.source), way
    )
