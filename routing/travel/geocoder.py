"""Asking a service on the web where a place is: only when told to, once for the same words, and the answer is kept.

Nothing but the words goes out, and the name of this program, which such services ask for.
"""

from __future__ import annotations

import datetime as dt
import json
import warnings
from collections.abc import Mapping
from importlib.metadata import version
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from geopy.exc import GeopyError
from geopy.geocoders import Nominatim

from routing.errors import AskedError
from routing.farm.faults import quoted
from routing.farm.finder import Finder
from routing.farm.inert import inert
from routing.farm.models import Place
from routing.farm.plain_files import read_plain
from routing.output.places import Ground
from routing.output.single import write_files
from routing.travel.named import MOST_FOUND, Named, folded

FILE = "found_places.json"
"""Where answers are kept in the farm folder."""
MOST_BYTES = 2_000_000
LONGEST = 200


def asked(farm: Path, finder: Finder, words: str, today: dt.date) -> tuple[Named, ...]:
    """Return what the service answers, from the farm folder where the same was asked before.

    Raises AskedError where nothing answers in time or what comes is no answer, and WriteError where it cannot be kept.
    """
    kept = _kept(farm / FILE)
    key = folded(words)
    known = kept.get(key)
    if known is None:
        known = {"asked": today.isoformat(), "of": finder.host, "found": _answers(finder, words)}
        text = json.dumps({**kept, key: known}, ensure_ascii=False, indent=1) + "\n"
        write_files({farm / FILE: text}, Ground(farm, replace=True), own_name=True, private=True)
    return tuple(_named(one) for one in known["found"])


def _kept(path: Path) -> dict[str, Mapping[str, Any]]:
    """Return the answers by the words asked; none where there is no file. Raises AskedError for a broken one."""
    try:
        found = json.loads(read_plain(path, MOST_BYTES))
        for answer in found.values():
            tuple(map(_named, answer["found"]))
    except FileNotFoundError:
        return {}
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        raise AskedError(f"{FILE} cannot be read: move it away, and ask again") from error
    return dict(found)


def _answers(finder: Finder, words: str) -> list[list[Any]]:
    parts = urlsplit(finder.url)
    service = Nominatim(
        domain=f"{parts.netloc}{parts.path.rstrip('/')}",
        scheme=parts.scheme,
        user_agent=f"outyard/{version('outyard')}",
        timeout=finder.seconds,
    )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of places that are none, which it then refuses
            found = service.geocode(words, exactly_one=False, limit=MOST_FOUND) or []
        return [[_told(one.address), round(one.latitude, 6), round(one.longitude, 6)] for one in found]
    except (GeopyError, ValueError, TypeError, KeyError, AttributeError) as error:
        why = quoted(str(error) or type(error).__name__)[1:-1]
        raise AskedError(
            f"no answer from {quoted(finder.host)}: {why}; try again later, or point on the map"
        ) from error


def _told(text: str) -> str:
    return inert(" ".join(str(text).split()))[:LONGEST]


def _named(told: list[Any]) -> Named:
    name, latitude, longitude = told
    return Named(str(name), "as the service says", Place(latitude=float(latitude), longitude=float(longitude)))
