"""The catalogue of job kinds on the terminal, every number with its source."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from routing.farm.models import Figure, JobKind
from routing.share.safe import plain_name, plain_text

SURENESS = {
    "V": "read at its source",
    "V2": "second-hand",
    "D": "worked out",
    "M": "not checked",
    "farm": "the farm's own",
}


def print_kinds(kinds: Sequence[JobKind], console: Console) -> None:
    """Print each job kind: minutes, materials a hive, light, warmth, people, and where each number comes from."""
    for kind in kinds:
        console.print(Text(f"{plain_name(kind.id)}: {plain_name(kind.name)}", style="bold"))
        for line in _lines(kind):
            console.print(Padding(Text(line), (0, 0, 0, 2)))


def _lines(kind: JobKind) -> Iterator[str]:
    yield f"light: {kind.light}; people: {kind.people}"
    if kind.min_temperature_c is not None:
        yield f"not below {kind.min_temperature_c:g} °C ({plain_text(kind.temperature_source)})"
    if kind.max_rain_mm_an_hour is not None:
        yield f"not in more rain than {kind.max_rain_mm_an_hour:g} mm an hour ({plain_text(kind.rain_source)})"
    if kind.max_wind_kmh is not None:
        yield f"not in more wind than {kind.max_wind_kmh:g} km/h ({plain_text(kind.wind_source)})"
    if kind.before_frost:
        yield "before the first frost"
    yield _figure("minutes a visit", kind.minutes_a_visit)
    yield _figure("minutes a hive", kind.minutes_a_hive)
    if kind.set_down_minutes_a_hive is not None:
        yield _figure("minutes a hive to set down at another site", kind.set_down_minutes_a_hive)
    for use in kind.takes:
        yield _figure(f"{plain_name(use.material)} a hive, taken", use.a_hive)
    for use in kind.brings_back:
        yield _figure(f"{plain_name(use.material)} a hive, brought back", use.a_hive)


def _figure(name: str, figure: Figure) -> str:
    return f"{name}: {figure.value:g} ({SURENESS[figure.confidence]}: {plain_text(figure.source)})"
