"""Ways to damage a good round: change one leaf, or shift a whole day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from enum import Enum
from typing import Any

from pydantic import BaseModel

from routing.round import Break, Insertion, LoadList, Round, SetDown, Shortfall

Path = tuple[str | int, ...]

STAND_INS: dict[str, object] = {
    "spread": {"visit": 0.3, "site": 0.1, "day_work": 0.1, "drive": 0.2, "day_drive": 0.1, "early_seconds": 60},
    "at_base": 1,
    "base": {"trips": 2, "loading_seconds": 600},
    "numbers": {
        "midnight": dt.datetime(2025, 12, 3, tzinfo=dt.UTC),
        "home_by": 0,
        "break_seconds": 0,
        "break_after_seconds": 0,
        "payload_grams": 0,
        "space_millilitres": 0,
        "materials": (),
        "stops": (),
        "seconds": (),
    },
    "move": {
        "drive_seconds": 600,
        "walk_seconds": 0,
        "set_up_seconds": 0,
        "hive_seconds": 60.0,
        "grams": 1.0,
        "millilitres": 1.0,
        "windows": (),
    },
    "packs": 1,
    "start": {"name": "somewhere", "latitude": 52.0, "longitude": -2.0},
    "rest": Break(start=dt.datetime(2025, 12, 3, 10, tzinfo=dt.UTC), seconds=1200).model_dump(),
    "stopping_place": {"latitude": 52.0, "longitude": -2.0, "road": "Mill Lane"},
    "set_down": SetDown(
        job="jobs.csv:2", name="Give fondant", hives=11, work_seconds=60, from_site="hill", from_name="Hill apiary"
    ).model_dump(),
    "load_again": LoadList(
        out=(),
        back=(),
        fullest_kg=0,
        fullest_kg_at="base",
        payload_kg=500,
        fullest_litres=0,
        fullest_litres_at="base",
        space_litres=3000,
    ).model_dump(),
    "insertion": Insertion(
        crew="anna",
        date=dt.date(2025, 12, 3),
        after="base",
        extra_seconds=60,
        shortfalls=(Shortfall(what="home by", amount=1, unit="seconds"),),
    ).model_dump(),
}
"""What stands where there was nothing."""


def thawed(value: Any) -> Any:
    """Return a dump whose lists can be changed."""
    if isinstance(value, dict):
        return {key: thawed(item) for key, item in value.items()}
    return [thawed(item) for item in value] if isinstance(value, list | tuple) else value


def with_change(round_: Round, path: Path, change: Callable[[Any], object]) -> Round:
    """Return the round with the value at the path changed, validated again."""
    dump = thawed(round_.model_dump())
    at = dump
    for step in path[:-1]:
        at = at[step]
    at[path[-1]] = change(at[path[-1]])
    return Round.model_validate(dump)


def without(round_: Round, path: Path, index: int) -> Round:
    """Return the round with one item of the list at the path dropped."""
    return with_change(round_, path, lambda items: [item for number, item in enumerate(items) if number != index])


def with_twice(round_: Round, path: Path, index: int) -> Round:
    """Return the round with one item of the list at the path there twice."""
    return with_change(round_, path, lambda items: [*items[: index + 1], *items[index:]])


def leaves(value: object, path: Path = ()) -> Iterator[tuple[Path, object]]:
    """Yield the path and value of every leaf of a dump; empty lists have none."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield from leaves(item, (*path, key))
    elif isinstance(value, list | tuple):
        for index, item in enumerate(value):
            yield from leaves(item, (*path, index))
    else:
        yield path, value


def lists(value: object, path: Path = ()) -> Iterator[tuple[Path, int]]:
    """Yield the path and length of every list of a dump that is not empty."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield from lists(item, (*path, key))
    elif isinstance(value, list | tuple):
        if value:
            yield path, len(value)
        for index, item in enumerate(value):
            yield from lists(item, (*path, index))


def pattern(path: Path) -> str:
    """Return the path in words with a star for every index: `itineraries.*.leave`."""
    return ".".join("*" if isinstance(step, int) else step for step in path)


def nudged(path: Path) -> Callable[[Any], object]:
    """Return a function that changes a leaf by the least there is of its type."""

    def nudge(value: Any) -> object:
        if value is None:
            return STAND_INS[str(path[-1])]
        if isinstance(value, Enum):
            members = list(type(value))
            return members[(members.index(value) + 1) % len(members)]
        steps: tuple[tuple[type, Callable[[Any], object]], ...] = (
            (bool, lambda flag: not flag),
            (str, lambda text: text + "x"),
            (dt.datetime, lambda moment: moment + dt.timedelta(seconds=1)),
            (dt.date, lambda date: date + dt.timedelta(days=1)),
            (object, lambda number: number + 1),
        )
        return next(step(value) for kind, step in steps if isinstance(value, kind))

    return nudge


def shifted(round_: Round, day: int, seconds: int) -> Round:
    """Return the round with every time of one day moved together, windows and home-by standing still."""
    dump = thawed(round_.model_dump())
    by, itinerary = dt.timedelta(seconds=seconds), dump["itineraries"][day]
    for name in ("load_from", "leave", "home"):
        itinerary[name] += by
    for stop in itinerary["stops"]:
        for name in ("arrive", "start", "finish"):
            stop[name] += by
        stop["light_left_seconds"] -= seconds
        if stop["rest"] is not None:
            stop["rest"]["start"] += by
    for call in itinerary["call_ins"]:
        call["by"] += by
    return Round.model_validate(dump)


def fields_met(value: object) -> Iterator[tuple[type[BaseModel], str]]:
    """Yield the model and name of every field below a model."""
    if isinstance(value, BaseModel):
        for name in type(value).model_fields:
            yield type(value), name
            yield from fields_met(getattr(value, name))
    elif isinstance(value, tuple):
        for item in value:
            yield from fields_met(item)
