"""Farms whose sites have awkward names, the forms in which somebody may write a name down, and the search for them."""

from __future__ import annotations

import html
import random
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import unquote

from routing.round import Round
from tests.share.sample import sample_round

ORDINARY = ("Oak", "Ash", "Mill", "Heather", "Light", "Van", "Gate", "Stone", "Drive", "Fondant", "Weather", "Home")
"""Names that are words of the program's own sentences, of its advice or of the trade."""

SEVERAL = ("Mill Bank", "Rose Lane", "Upper Oak Farm", "Far-Field", "Dog Leg Corner", "Cold Harbour", "Nut Tree Piece")
MARKED = (
    "Bl\u00e1th Lane",
    "M\u00fchle",
    "Ty'n-y-Coed",
    "Drover's Rest",
    "Rose & Crown",
    "Cr\u00eape Hill",
    "S\u00f8 Field",
    "\u6771\u5c71",
)
AWKWARD = ("Site A", "Base", "B12", "The Harebells", "Rowan", "Hill (top)", "St. Mary's", "Windy Ridgeway North")
SITES = 9
POOL = (*ORDINARY, *SEVERAL, *MARKED, *AWKWARD)

FARM = """name = "Harebell Bees"
time_zone = "Europe/London"

[base]
name = "The Yard"
place = "52.61, -2.95"

[[vehicle]]
id = "van"
name = "White van"
payload_kg = 650
space_litres = 3000

[[crew]]
id = "{crew}"
name = "One"
people = 2
vehicle = "van"
earliest_start = "07:00"
home_by = "18:30"

[[crew]]
id = "two"
name = "Two"
people = 1
vehicle = "van"
earliest_start = "07:00"
home_by = "18:30"

[job_kind.{kind}]
name = "Check of the fence"
minutes_a_visit = 10
minutes_a_hive = 3

[due.{kind}]
job = "{kind}"
every_days = 30
source = "made up"
"""


def forms(name: str) -> tuple[str, ...]:
    """Return a name in every form that must not be told: case, spacing, hyphens, joined up, plural, accents."""
    bare = "".join(part for part in unicodedata.normalize("NFD", name) if not unicodedata.combining(part))
    found: list[str] = []
    for text in (name, bare, unicodedata.normalize("NFD", name), name.replace("'", "\u2019")):
        parts = re.split(r"[\s-]+", text)
        found += (
            text,
            text.upper(),
            text.lower(),
            f"{text}'s",
            f"{text}\u2019s",
            f"{text}s",
            f"farm-{'-'.join(parts).lower()}",
        )
        for between in ("", "-", "_", "  ", "\u00a0", "\u00ad"):
            found += (between.join(parts), between.join(parts).lower())
    return tuple(dict.fromkeys(found))


@dataclass(frozen=True)
class Named:
    """What one farm calls its sites, in the order of their ids, and the form in which others' texts name them."""

    names: tuple[str, ...]
    ids: tuple[str, ...]
    told: tuple[str, ...]
    """The form in which what the farmer wrote about each site names the next one."""

    @property
    def word(self) -> str:
        """Return the id of the first site, which stands in the ids of a crew and of a job kind."""
        return self.ids[0]


def hostile(seed: int) -> Named:
    """Return names for the sites of the sample round, drawn by the seed."""
    draw = random.Random(seed)
    pairs = sorted((f"{_slug(name) or 'far'}-{number}", name) for number, name in enumerate(draw.sample(POOL, SITES)))
    names = tuple(name for _, name in pairs)
    told = tuple(draw.choice(forms(names[(place + 1) % SITES])) for place in range(SITES))
    return Named(names, tuple(id_ for id_, _ in pairs), told)


def plain() -> Named:
    """Return names that are no words of anything."""
    names = tuple(f"X{letter}qqo V{letter}bbu" for letter in "abcdefghi")
    return Named(names, tuple(f"x{letter}qqo-0" for letter in "abcdefghi"), (*names[1:], names[0]))


def write(named: Named, folder: Path) -> Path:
    """Write the farm of the sample round under these names and return its folder."""
    folder.mkdir()
    rows = ["id,name,place,hives,gate_code,private_notes"]
    for (_, (latitude, longitude)), id_, name, form in zip(
        _sample_sites(), named.ids, named.names, named.told, strict=True
    ):
        cells = (id_, name, f"{latitude}, {longitude}", "12", "44#71", f"Key from {form}, too")
        rows.append(",".join(map(_cell, cells)))
    (folder / "sites.csv").write_text("\n".join([*rows, ""]), encoding="utf-8")
    (folder / "farm.toml").write_text(
        FARM.format(crew=f"{named.word}-crew", kind=f"own-{named.word}"), encoding="utf-8"
    )
    return folder


def round_of(named: Named) -> Round:
    """Return the sample round as it is planned for the farm: the names in all that names a site, and forms in notes."""
    old = [name for name, _ in _sample_sites()]
    names = dict(zip(old, named.names, strict=True))
    ids = {name.lower(): id_ for name, id_ in zip(old, named.ids, strict=True)}
    whole = _called(sample_round().model_dump(), names, ids)
    told = dict(zip(named.ids, named.told, strict=True))
    whole["itineraries"][0] |= {"crew": f"{named.word}-crew", "crew_name": f"{named.told[-1]} crew"}
    whole |= {"farm": f"{named.told[-1]} Bees", "base_name": f"{named.told[-1]} Yard"}
    for day in whole["itineraries"]:
        day["vehicle_name"] = f"Van {named.told[-1]}"
        for stop in day["stops"]:
            form = told[stop["site"]]
            stop["notes"] = f"Ring before {form}, then on"
            stop["stopping_place"] = {
                "latitude": stop["latitude"],
                "longitude": stop["longitude"],
                "road": f"{form} Road",
            }
            for number, job in enumerate(stop["jobs"]):
                job |= {
                    "id": f"due:own-{named.word}:{stop['site']} part {number + 1} of 2",
                    "note": f"part 1 of 2, 9 hives in all; as at {form}",
                }
                job |= {
                    "kind": f"own-{named.word}",
                    "name": f"Check of {form}",
                    "cautions": (f"At {form} lift with two.",),
                }
    whole["warnings"] = (
        f'sites.csv:3: "{named.told[0]}" and site "{named.ids[1]}" are near; {named.names[2]} is closed',
    )
    return Round.model_validate(whole)


def _sample_sites() -> list[tuple[str, tuple[float, float]]]:
    """Return the name and the place of each site of the sample, in the order of their ids."""
    whole = sample_round()
    stops = [stop for day in whole.itineraries for stop in day.stops]
    return sorted(
        [
            *((stop.name, (stop.latitude, stop.longitude)) for stop in stops),
            *((left.name, (left.latitude, left.longitude)) for left in whole.left_out),
        ]
    )


def _called(value: Any, names: dict[str, str], ids: dict[str, str]) -> Any:
    if isinstance(value, dict):
        return {key: _called(part, names, ids) for key, part in value.items()}
    if isinstance(value, (list, tuple)):
        return [_called(part, names, ids) for part in value]
    if type(value) is not str:
        return value
    if value in ids:
        return ids[value]
    pattern = "|".join(map(re.escape, names))
    return re.sub(pattern, lambda found: names[found[0]], value)


def spoken(text: str) -> str:
    """Return a file's text as it is searched: entities, escapes and folded lines undone, without case and marks."""
    shown = html.unescape(text.replace("\r\n ", "").replace("\\,", ",").replace("\\;", ";"))
    return _bare(unquote(re.sub(r"\\u([0-9a-f]{4})", lambda found: chr(int(found[1], 16)), shown)))


def told(name: str, text: str) -> Iterator[str]:
    """Yield each piece of a text from `spoken` that is a form of the name, found by another way than the program's own.

    Letters are compared without case and marks, whatever stands between them is passed over by a pattern.
    """
    letters = [part for part in _bare(name) if part.isalnum()]
    if not letters:
        return
    pattern = r"[\W_]{0,4}".join(map(re.escape, letters))
    for found in re.finditer(rf"(?<![^\W_]){pattern}(?:['\u2019]?s)?(?![^\W_])", text):
        yield found[0]


def _bare(text: str) -> str:
    apart = unicodedata.normalize("NFKD", text.replace("&", "and").replace("\u00f8", "o").replace("\u00d8", "O"))
    return "".join(part for part in apart if unicodedata.category(part) not in {"Mn", "Cf"}).casefold()


def _slug(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", _bare(text)).strip("-")


def _cell(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'
