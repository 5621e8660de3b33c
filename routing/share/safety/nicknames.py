"""A round under nicknames: no name of a site of the farm is left in it, in whatever form somebody wrote it down.

What stands in a round comes from four sides, and each is treated by its own rule:

- the sites' names and ids themselves are replaced by the nickname, whatever they are;
- in what the farmer wrote (notes, names and cautions of own job kinds, names of own materials) every form of a name
  that `names` finds is replaced, in any case: nobody can tell a site called Oak from an oak there;
- in the program's own sentences a name counts as it is written in sites.csv, and in any form inside quotes or where it
  has several words and the sentence is a warning: so `oak` stays `oak`;
- the texts of the package's own catalogue, above all the advice on safety, are the same for every farm and stay.

Where the name of the farm, the base, a crew, a vehicle or a road holds the name of a site, a neutral word stands for
it: a nickname there would tell those who know the crew what the site is called. Abbreviations, parts of a name and
slips of the pen are not known for what they are.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from routing.farm.kinds import load_catalogue
from routing.farm.models import BASE, Farm
from routing.round import Round
from routing.share.safety.names import SHORT, Finder, inner, squashed
from routing.share.safety.nickname_codes import Codes, site_tags
from routing.share.safety.plan_key import round_key
from routing.share.safety.safe import plain_name

NO_OTHERS: Mapping[str, str] = MappingProxyType[str, str]({})

NO_NAMES = frozenset({"", "-"})
"""Names of sites that stand for none and are not looked for in other texts."""

SHORTEST_ID = 5
"""Letters of an id of letters alone that is looked for in any form; a shorter one in quotes. Our own choice."""

FARM, BASE_NAME, VEHICLE, ROAD, TURN = "The farm", "Base", "Vehicle", "a road", "(a turn that names a site)"
"""What stands for a name that holds the name of a site, and for a turn of the way that does."""

WORDS = ("Site", "Place", "Stand", "Spot")
"""What nicknames begin with: the first, with letters or else numbers, that makes none which is a true name."""


def nicknames(round_: Round, others: Mapping[str, str] = NO_OTHERS) -> dict[str, str]:
    """Return a nickname for the id of each site of the round: `Site A` and so on, in the order of their ids.

    `others` holds the names by id of the farm's other sites, which take their letters too: with the whole farm in it,
    a site keeps its nickname from day to day.
    """
    named = [*_sites(round_), *others.items()]
    ids = sorted({site for site, _ in named})
    taken = {squashed(name) for pair in named for name in pair}
    bare = {squashed(name) for _, name in named}
    for word, mark in ((word, mark) for mark in (_letters, _number) for word in WORDS):
        marks = {site: mark(number) for number, site in enumerate(ids)}
        called = {site: f"{word} {marks[site]}" for site in ids}
        tells = taken & {squashed(nickname) for nickname in called.values()} or bare & set(
            map(squashed, marks.values())
        )
        if not tells:
            break
    return called


def hidden(round_: Round, hiding: Hiding) -> Round:
    """Return the round with every site under its nickname, in its id, its name and wherever a text names it.

    Places stay: whoever drives there must know them. So do gate codes and phone numbers. Left-out work near the day is
    not offered: where it lies nobody needs to know who does not go there. A site that is neither of the round nor known
    to `hiding` is not hidden. The key of each plan stays what it was.
    """
    keyed = [
        day.model_copy(update={"plan_key": round_key(day), "numbers": day.numbers and day.numbers.without_near()})
        for day in round_.itineraries
    ]
    whole = round_.model_copy(update={"itineraries": tuple(keyed)})
    return Round.model_validate(hiding.renamed(whole.model_dump()))


@dataclass(frozen=True)
class Hiding:
    """New ids and names of the sites, and what finds their names in other texts."""

    called: Mapping[str, str]
    ids: Mapping[str, str]
    codes: Codes
    finder: Finder
    written: frozenset[str]
    """Names as the program's own sentences have them."""
    quoted: Mapping[str, str]
    """Ids, which count in any case as the whole of what stands in quotes."""
    usual: frozenset[str]
    """Texts of the package's catalogue."""
    phrases: Mapping[str, str]
    """Names of crews, own kinds and the like that hold a site's name, in lower case, and how they are shown."""

    @classmethod
    def of(cls, round_: Round, others: Mapping[str, str], farm: Farm | None = None) -> Hiding:
        """Return what hides the sites of a round and the farm's others."""
        called = nicknames(round_, others)
        named = [*_sites(round_), *others.items()]
        finder = _finder(named, called)
        tags = site_tags(farm.sites) if farm is not None else {}
        slugs = {site: nickname.lower().replace(" ", "-") for site, nickname in called.items()}
        ids = {site: f"{slug}.{tags[site]}" if site in tags else slug for site, slug in slugs.items()}
        crews = [crew.id for crew in farm.crews] if farm is not None else [day.crew for day in round_.itineraries]
        bare = cls(
            called=called,
            ids=ids,
            codes=Codes.of(finder, ids, tuple(dict.fromkeys(crews))),
            finder=finder,
            written=frozenset(
                inner(name)
                for _, given in named
                for name in (given, plain_name(given))
                if given.strip() not in NO_NAMES
            ),
            quoted={site.casefold(): nickname for site, nickname in called.items()},
            usual=_usual(),
            phrases={},
        )
        return replace(bare, phrases=bare._phrases_of(round_))

    def _phrases_of(self, round_: Round) -> dict[str, str]:
        """Return the names of the round that hold a site's name, and how they are shown; but for those that are one."""
        shown = {round_.farm: self.own(round_.farm, FARM), round_.base_name: self.own(round_.base_name, BASE_NAME)}
        for day in round_.itineraries:
            shown[day.crew_name] = self.own(day.crew_name, self.codes.crew_name(day.crew))
            shown[day.vehicle_name] = self.own(day.vehicle_name, VEHICLE)
            shown |= {item.name: self.farmers(item.name) for load in day.loads for item in (*load.out, *load.back)}
        jobs = [job for day in round_.itineraries for stop in day.stops for job in stop.jobs]
        shown |= {
            job.name: self.farmers(job.name) for job in (*jobs, *(job for left in round_.left_out for job in left.jobs))
        }
        return {
            name.casefold(): instead
            for name, instead in shown.items()
            if name != instead and squashed(name) not in self.finder.calls
        }

    def renamed(self, value: Any, field: str = "", *, of_job: bool = False) -> Any:  # noqa: ANN401 -- any dumped model
        """Return a dumped round, or a part of it that stands in `field`, without the sites' names."""
        if isinstance(value, dict):
            job = "work_seconds" in value
            return {**{key: self.renamed(part, key, of_job=job) for key, part in value.items()}, **self._names(value)}
        if isinstance(value, (list, tuple)):
            return tuple(self.renamed(part, field, of_job=of_job) for part in value)
        if type(value) is not str:
            return value
        if field == "cautions" and of_job:
            return self.farmers(value)
        return _TREATMENTS.get(field, Hiding.programs)(self, value)

    def _names(self, part: Mapping[str, Any]) -> dict[str, str]:
        """Return the names that stand beside ids in a part of a round, as they are shown."""
        beside = (("site", "name"), ("to", "to_name"), ("from_site", "from_name"))
        named = {name: self.called[part[site]] for site, name in beside if part.get(site) in self.called}
        if part.get("site") == BASE:
            named["name"] = self.own(part["name"], BASE_NAME)
        if "crew_name" in part:
            named["crew_name"] = self.own(part["crew_name"], self.codes.crew_name(part["crew"]))
        return named

    def site(self, text: str) -> str:
        """Return the new id of a site, and `base` or an empty text as it is."""
        return self.ids.get(text, text if text in {"", BASE} else self.farmers(text))

    def farmers(self, text: str) -> str:
        """Return what the farmer wrote with every form of a name replaced; what the catalogue says as it is."""
        return text if text in self.usual else self._pieces(text, self.finder.hide)

    def note(self, text: str) -> str:
        """Return the note of a job; what the program says in it of parts and due dates is a sentence of its own."""
        parts = text.split("; ")
        return "; ".join(self.programs(part) if _OF_PROGRAM.match(part) else self.farmers(part) for part in parts)

    def programs(self, text: str) -> str:
        """Return a sentence of the program with names as they are written replaced, and every form in quotes."""
        return self._pieces(text, lambda part: self.finder.hide(part, lambda piece, _: self._is_written(piece)))

    def warned(self, text: str) -> str:
        """Return a warning, which may repeat what the farmer wrote: names of several words in any form besides."""

        def fits(piece: str, form: str) -> bool:
            return self._is_written(piece) or any(not name.isalnum() for name in self.finder.written[form])

        return self._pieces(text, lambda part: self.finder.hide(part, fits))

    def _is_written(self, piece: str) -> bool:
        """Return whether a piece is a name as it is written, or its possessive."""
        return inner(re.sub(r"['\u2019](?:s)?$", "", piece)) in self.written

    def own(self, text: str, neutral: str) -> str:
        """Return a name that is no site's, or the neutral word where it holds one."""
        return neutral if self.finder.holds(text) else text

    def _pieces(self, text: str, between: Callable[[str], str]) -> str:
        """Return the text with phrases and what stands in quotes by their rules, and what stands between by its own."""
        longest = sorted(self.phrases, key=lambda phrase: (-len(phrase), phrase))
        phrases = "".join(rf"|(?<!\w){re.escape(phrase)}(?!\w)" for phrase in longest)
        done: list[str] = []
        begin = 0
        for found in re.finditer(rf'"[^"]*"{phrases}', text, re.IGNORECASE):
            done += (between(text[begin : found.start()]), self._piece(found[0]))
            begin = found.end()
        return "".join((*done, between(text[begin:])))

    def _piece(self, text: str) -> str:
        if text.casefold() in self.phrases:
            return self.phrases[text.casefold()]
        whole = text.strip('"')
        return f'"{self.quoted.get(whole.casefold()) or self.finder.hide(whole)}"'


def site_names(farm: Farm) -> Finder:
    """Return what finds the names of the farm's sites; each is called by its id."""
    return _finder([(site.id, site.name) for site in farm.sites], {site.id: site.id for site in farm.sites})


def _finder(named: Sequence[tuple[str, str]], called: Mapping[str, str]) -> Finder:
    """Return what finds sites by their names, and by their ids where these are long enough to be no other word."""
    names = [(name, called[site]) for site, name in named if name.strip() not in NO_NAMES]
    long = [(site, called[site]) for site, _ in named if _is_telling(site)]
    return Finder.of([*names, *long])


def _is_telling(site: str) -> bool:
    """Return whether an id is looked for in any form: a long one, or one of letters and more than letters."""
    letters = squashed(site)
    return len(letters) >= (SHORTEST_ID if site.isalpha() else SHORT) and not letters.isdigit()


_OF_PROGRAM = re.compile(r"part \d+ of \d+, \d+ hives in all$|\d+ of \d+ hives left$|Due by \d{4}-\d\d-\d\d: ")

_Treatment = Callable[[Hiding, str], str]


def _kept(_hiding: Hiding, text: str) -> str:
    return text


_TREATMENTS: Mapping[str, _Treatment] = MappingProxyType(
    {
        **dict.fromkeys(("site", "after", "fullest_kg_at", "fullest_litres_at", "to", "from_site"), Hiding.site),
        **dict.fromkeys(("time_zone", "units", "unit", "shape", "emergency_number", "plan_key"), _kept),
        **dict.fromkeys(("kind", "material", "vehicle"), lambda hiding, text: hiding.codes.plain(text)),
        **dict.fromkeys(("id", "job"), lambda hiding, text: hiding.codes.job(text)),
        **dict.fromkeys(("name", "to_name", "from_name", "pack", "notes"), Hiding.farmers),
        **dict.fromkeys(("warnings", "faults"), Hiding.warned),
        "note": Hiding.note,
        "crew": lambda hiding, text: hiding.codes.crew(text),
        "farm": lambda hiding, text: hiding.own(text, FARM),
        "base_name": lambda hiding, text: hiding.own(text, BASE_NAME),
        "vehicle_name": lambda hiding, text: hiding.own(text, VEHICLE),
        "road": lambda hiding, text: hiding.own(text, ROAD),
        "turns": lambda hiding, text: hiding.own(text, TURN),
    }
)
"""By field of a round; the others hold sentences of the program."""


def _usual() -> frozenset[str]:
    """Return the names, packs and cautions of the package's own catalogue."""
    catalogue = load_catalogue()
    kinds, materials = catalogue.job_kinds.values(), catalogue.materials.values()
    said = (text for kind in kinds for text in (kind.name, *kind.cautions))
    return frozenset(
        (*said, *catalogue.cautions.values(), *(text for item in materials for text in (item.name, item.pack)))
    )


def _sites(round_: Round) -> list[tuple[str, str]]:
    """Return the id and the name of each site of the round."""
    stops = [(stop.site, stop.name) for itinerary in round_.itineraries for stop in itinerary.at_sites]
    jobs = [job for itinerary in round_.itineraries for stop in itinerary.stops for job in stop.jobs]
    jobs += [job for left in round_.left_out for job in left.jobs]
    ends = [(job.to, job.to_name) for job in jobs if job.to]
    return [*stops, *((left.site, left.name) for left in round_.left_out), *ends]


def _number(number: int) -> str:
    """Return 1 and so on, for a number from 0."""
    return str(number + 1)


def _letters(number: int) -> str:
    """Return A to Z, then AA, AB and so on, for a number from 0."""
    more, place = divmod(number, 26)
    return (_letters(more - 1) if more else "") + chr(ord("A") + place)
