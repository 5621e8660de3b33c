"""The catalogue of job kinds on the terminal, every number with its source.

Many numbers share a source, so each source stands once, numbered, below the kinds; the farm's own stand beside theirs.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from routing.farm.models import Figure, JobKind
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording.kinds import SURENESS, kind_figures, kind_limits, kind_needs

OWN = "farm.toml"


class Sources:
    """Sources in the order in which they are first told, each with its number."""

    def __init__(self) -> None:
        """Begin with none."""
        self._numbers: dict[str, int] = {}

    def number(self, source: str) -> str:
        """Return `[3]` for a source, the same each time."""
        return f"[{self._numbers.setdefault(plain_text(source), len(self._numbers) + 1)}]"

    def lines(self) -> Iterator[str]:
        """Yield each source after its number."""
        return (f"[{number}] {source}" for source, number in self._numbers.items())


def print_kinds(kinds: Sequence[JobKind], console: Console) -> None:
    """Print each job kind: minutes, materials a hive, light, warmth, people; then where the numbers come from."""
    sources = Sources()
    for kind in kinds:
        console.print(Text(f"{plain_name(kind.id)}: {plain_name(kind.name)}", style="bold"))
        for line in _lines(kind, sources):
            console.print(Padding(Text(line), (0, 0, 0, 2)))
    console.print(Text("\nSources", style="bold"))
    for line in sources.lines():
        console.print(Padding(Text(line), (0, 0, 0, 2)))


def _lines(kind: JobKind, sources: Sources) -> Iterator[str]:
    yield kind_needs(kind)
    if weather := [f"{words} {_told(source, sources)}" for words, source in kind_limits(kind)]:
        yield "not " + ", ".join(weather)
    for name, figure in kind_figures(kind):
        yield _figure(name, figure, sources)
    if kind.not_with:
        names = ", ".join(plain_name(name) for name in kind.not_with)
        yield f"not beside {names} {_told(kind.not_with_source, sources)}"
    if kind.stays_until:
        yield f"what it puts there stays until {plain_name(kind.stays_until)}"


def _told(source: str, sources: Sources) -> str:
    return f"({OWN})" if source == OWN else sources.number(source)


def _figure(name: str, figure: Figure, sources: Sources) -> str:
    source = plain_text(figure.source)
    where = f": {source}" if figure.confidence == "farm" else f" {sources.number(source)}"
    return f"{name}: {figure.value:g} ({SURENESS[figure.confidence]}{where})"
