"""The day line as a picture for page, phone and paper: lines, boxes and words, the same in black and white."""

from __future__ import annotations

from markupsafe import Markup

from routing.share.pages.inline import environment
from routing.share.safety.trusted import trusted
from routing.share.wording.day_line import DayLine, Row, Span, SpanKind

PHONE, PAPER = 340, 720
"""Units across: on a phone one is a pixel; on a sheet there is room for the words of two."""

_HEAD, _ROW = 32, 15
"""Units of the sky above the rows, and of a row."""
_LETTER = 6.9
"""Units that a letter is wide at most, on average, in the fonts that were looked at."""
_GAP = 5
_LEAST_NAME = 9
"""So many letters of a name are left before what follows it goes."""
_HOUR_WIDTH = 22
"""Two digits and some air."""
_WORDS: dict[SpanKind, str] = {
    "night": "night",
    "twilight": "twilight",
    "day": "daylight",
    "light": "working light and hours of the stop",
    "load": "loading",
    "drive": "drive",
    "work": "work",
    "break": "break",
    "wait": "wait",
}


def day_line_svg(line: DayLine, width: int) -> Markup:
    """Return the picture, `width` units across; it scales to the room that it gets."""
    scale = width / line.seconds
    step = 1 if width / max(1, len(line.hours)) > _HOUR_WIDTH else 2
    rows = [_placed(row, _HEAD + _ROW * number, scale, width) for number, row in enumerate(line.rows)]
    last = len(line.hours) - 1
    return trusted(  # a template of ours, which escapes every text
        environment()
        .get_template("day_line.svg")
        .render(
            width=width,
            height=_HEAD + _ROW * len(rows) + 4,
            title=line.title,
            hours=[
                (round(at * scale, 1), text, "start" if number == 0 else "end" if number == last else "middle")
                for number, (at, text) in enumerate(line.hours)
                if number % step == 0
            ],
            ticks=[round(at * scale, 1) for at, _ in line.hours],
            sky=[_box(span, scale) for span in line.sky],
            rows=rows,
        )
    )


def shown_kinds(line: DayLine) -> list[tuple[SpanKind, str]]:
    """Return the kinds of spans that a day has, with their words, for its key."""
    seen = {span.kind for span in line.sky} | {span.kind for row in line.rows for span in row.spans}
    if any(row.light for row in line.rows):
        seen.add("light")
    return [(kind, words) for kind, words in _WORDS.items() if kind in seen]


def _box(span: Span, scale: float) -> tuple[SpanKind, float, float]:
    """Return kind, left edge and width; what is too brief to be seen is drawn a unit wide."""
    return span.kind, round(span.begin * scale, 1), max(1.0, round((span.end - span.begin) * scale, 1))


def _placed(row: Row, top: int, scale: float, width: int) -> dict[str, object]:
    """Return a row with its words to the right of what is done, or to its left where there is more room."""
    boxes = [_box(span, scale) for span in row.spans]
    left = min((at for _, at, _ in boxes), default=0.0)
    right = max((at + wide for _, at, wide in boxes), default=0.0)
    needed = len(row.whole) * _LETTER
    after = width - right - _GAP >= needed or width - right >= left
    room = (width - right if after else left) - _GAP
    words = _fitting(row, int(room / _LETTER))
    return {
        "y": top,
        "mark": row.mark,
        "light": None if row.light is None else _box(row.light, scale),
        "boxes": boxes,
        "words": words,
        "x": round(right + _GAP if after else left - _GAP, 1),
        "anchor": "start" if after else "end",
    }


def _fitting(row: Row, most: int) -> str:
    """Return the words of a row in so many letters: the name is cut first, what follows it only where it must be."""
    if len(row.whole) <= most:
        return row.whole
    name = _LEAST_NAME if row.light else len(row.words) + 2  # no time is cut: only stops have names
    tail = f", {row.told}" if row.told and len(row.told) + name <= most else ""
    kept = row.words[: max(4, most - len(tail) - 1)].rstrip(" ,")
    return f"{kept if kept == row.words else kept + chr(0x2026)}{tail}"
