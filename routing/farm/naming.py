"""What a person means by a word: a site, a job kind or a crew, by its id or by its name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from routing.errors import AskedError
from routing.farm.faults import nearest, one_of, plain, quoted
from routing.farm.models import Farm


def site_named(farm: Farm, word: str) -> str:
    """Return the id of the site that a word means. Raises AskedError where it is none's, or several sites' name."""
    return _meant(word, {site.id: (site.name,) for site in farm.sites}, "site", f"in {farm.tables.sites}")


def kind_named(farm: Farm, word: str, also: Iterable[str] = ()) -> str:
    """Return the id of the job kind that a word means, or one of some other words. Raises AskedError likewise."""
    kinds = {kind.id: (kind.name,) for kind in farm.job_kinds.values()}
    return _meant(word, {**kinds, **dict.fromkeys(also, ())}, "kind", "known")


def crew_named(farm: Farm, word: str) -> str:
    """Return the id of the crew that a word means. Raises AskedError likewise."""
    return _meant(word, {crew.id: (crew.name,) for crew in farm.crews}, "crew", "in farm.toml")


def _meant(word: str, names: Mapping[str, tuple[str, ...]], what: str, where: str) -> str:
    """Return the id that is the word exactly, else the one that is it or is called so in any case and spacing."""
    if word in names:
        return word
    asked = plain(word)
    ids = [id_ for id_ in names if plain(id_) == asked] or [
        id_ for id_, called in names.items() if asked in map(plain, called)
    ]
    if len(ids) == 1:
        return ids[0]
    if ids:
        raise AskedError(f"{what} {quoted(word)} may be {' or '.join(map(quoted, ids))}: write that id")
    every = {
        **{called: called for all_called in names.values() for called in all_called},
        **{id_: id_ for id_ in names},
    }
    raise AskedError(f"{what} {quoted(word)} is not {where}; {nearest(word, every) or one_of(names)}")
