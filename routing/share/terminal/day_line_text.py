"""The day line in letters, for the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from routing.share.wording.day_line import DayLine, Span, SpanKind

_MOST_COLUMNS = 66
_STEPS = (600, 900, 1200, 1800, 3600)
_SIGNS: dict[SpanKind, str] = {
    "night": "#",
    "twilight": ":",
    "day": ".",
    "light": "=",
    "load": "l",
    "drive": "-",
    "break": "b",
    "wait": "w",
}
KEY = (
    "# night, : twilight, . daylight; = working light of one stop at least; "
    "l loading, - drive, w wait, b break; digits: work"
)


def day_line_lines(line: DayLine) -> list[str]:
    """Return the hours, the sky, the working light and the day as lines of equal letters, and what the signs are.

    A stop shows the last digit of its number, at least one letter long.
    """
    step = next((step for step in _STEPS if line.seconds / step <= _MOST_COLUMNS), _STEPS[-1])
    columns = round(line.seconds / step)
    hours = [" "] * (columns + 2)
    for at, text in line.hours:
        place = round(at / step)
        if hours[max(0, place - 1)] == " ":
            hours[place : place + 2] = text
    lights = [row.light for row in line.rows if row.light is not None]
    done = _signs([span for row in line.rows for span in row.spans if span.kind != "work"], columns, step)
    for row in line.rows:
        for span in row.spans:
            if span.kind == "work" and row.light is not None:
                first = min(columns - 1, round(span.begin / step))
                for place in range(first, max(first + 1, min(columns, round(span.end / step)))):
                    done[place] = _digit(row.words)
    return [
        f"       {''.join(hours).rstrip()}",
        f"Sky    {''.join(_signs(line.sky, columns, step)).rstrip()}",
        f"Light  {''.join(_signs(lights, columns, step)).rstrip()}",
        f"Day    {''.join(done).rstrip()}",
        KEY,
    ]


def _digit(words: str) -> str:
    """Return the last digit of the mark with which a stop's words begin."""
    return words.split(" ", 1)[0][-1]


def _signs(spans: Sequence[Span], columns: int, step: int) -> list[str]:
    """Return for each column the sign of what is there in its middle."""
    found = [" "] * columns
    for span in spans:
        for place in range(columns):
            if span.begin <= (place + 0.5) * step < span.end:
                found[place] = _SIGNS.get(span.kind, "=")
    return found
