"""How a value of farm.toml is made ready to be shown and changed, whatever it is of."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from routing.desk.farm_field import FarmField, Kind, Said, Table, Way
from routing.farm.models import Figure
from routing.farm.workbook_cells import number_text
from routing.share.safety.safe import plain_text
from routing.share.wording.farm_keys import key_words
from routing.share.wording.farm_numbers import Number, figure_number

UNSAID = "not said in farm.toml: this is what counts then"
OWN = "the farm's own"


@dataclass(frozen=True)
class Maker:
    """Makes the values of one farm.toml."""

    said: Said

    def one(
        self,
        way: Way,
        value: str | float | None,
        kind: Kind,
        choices: Iterable[str] = (),
        *,
        name: str = "",
        needed: bool = False,
        unsaid: str = UNSAID,
        whose: str = "",
    ) -> FarmField:
        """Return a value; None is shown as nothing."""
        said = self.said.value(way) is not None
        source = self.said.where(way) if said else unsaid
        return FarmField(
            way=way,
            name=name or key_words(str(way[-1])),
            value=_typed(value),
            kind=kind,
            source=source,
            said=said,
            sure=OWN if said else "",
            choices=tuple(choices),
            needed=needed,
            whose=whose,
        )

    def figure(self, number: Number) -> FarmField:
        """Return a number that carries its source with it."""
        said = self.said.value(number.way) is not None
        where = f"{number.source} ({self.said.where(number.way)})" if said else number.source
        return FarmField(number.way, number.name, number.value, Kind.FIGURE, where, said, number.sure)

    def a_figure(self, way: Way, figure: Figure | None, unsaid: str) -> FarmField:
        """Return a number with its source that there may be none of."""
        name = key_words(str(way[-1]))
        if figure is None:
            return self.one(way, None, Kind.FIGURE, name=name, unsaid=unsaid)
        return replace(self.figure(figure_number(name, figure, tuple(map(str, way)))), way=way)

    def beside(self, made: FarmField, key: str, source: str) -> FarmField:
        """Return a value whose source is told in a key beside it, with that source as it is in effect."""
        way: Way = (*made.way[:-1], key)
        own = self.said.value(way)
        told = f"{plain_text(source)} ({self.said.where(made.way)})" if made.said else plain_text(source)
        own_source = own if isinstance(own, str) else ""
        return replace(made, source=told or made.source, source_way=way, own_source=own_source)

    def ticked(self, way: Way, value: Iterable[str], choices: Iterable[str]) -> FarmField:
        """Return a list of names out of what there is, in the order of farm.toml; what it names is on offer too.

        `value` are the ids in effect: one that farm.toml names by another word is on offer by that word alone.
        """
        known = tuple(value)
        names = self._listed(way) or known
        offered = (choice for choice in choices if choice in names or choice not in known)
        return self.one(way, ", ".join(names), Kind.TICKS, dict.fromkeys((*offered, *names)))

    def lines(self, way: Way, value: Iterable[str]) -> FarmField:
        """Return a list of sentences, as farm.toml says them."""
        return self.one(way, "\n".join(self._listed(way) or value), Kind.LINES)

    def rows(self, way: Way, words: str, table: Table, source_key: str, source: str) -> FarmField:
        """Return a table of numbers."""
        made = replace(self.one(way, words, Kind.ROWS), table=table)
        return self.beside(made, source_key, source)

    def as_said(self, way: Way, keys: Sequence[str]) -> list[tuple[str, ...]]:
        """Return the rows of a list of tables in the order of farm.toml, none where it does not say them."""
        found = self.said.value(way)
        rows = found if isinstance(found, list) else []
        return [tuple(_typed(row.get(key)) for key in keys) for row in rows if isinstance(row, Mapping)]

    def _listed(self, way: Way) -> tuple[str, ...]:
        found = self.said.value(way)
        texts = found if isinstance(found, list) else [found] if isinstance(found, str) else []
        return tuple(str(text) for text in texts)


def _typed(value: object) -> str:
    """Return a value as it is typed."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return number_text(float(value)) if isinstance(value, int | float) else str(value)
