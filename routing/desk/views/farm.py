"""The farm as its files say, to change: crews, vehicles, stock, rules, job kinds, with the source beside each number.

One value at a time goes into farm.toml. The page sends what it showed: where that has changed in the file meanwhile,
both are given back and nothing is written.
"""

from __future__ import annotations

import json
from collections.abc import Mapping

from starlette.responses import Response

from routing import stages
from routing.desk.farm_field import FarmField, Said, said_in
from routing.desk.farm_fields import FarmFields, fields_of
from routing.desk.farm_new import NEW, added_values, choices_of, dropped_values, longest, offered
from routing.desk.farm_values import LONGEST_TYPED, Values, changed_values, in_words, taken_out
from routing.desk.files.csv_bytes import encoded
from routing.desk.files.saving import digest_of
from routing.desk.given import LONGEST, Given
from routing.desk.serving import changed, page, shown
from routing.desk.state import Desk
from routing.desk.views.undo import undo_values
from routing.errors import AskedError
from routing.farm.models import Farm
from routing.farm.settings import FILE
from routing.share.safety.safe import plain_text

HERE = "/farm"
MOST_TOLD = 20


def farm_view(desk: Desk, _given: Given) -> Response:
    """Show what the farm's files say, before anything is learned from its record."""
    farm, said, _ = _read(desk)
    fields = _fields(desk, farm, said)
    new = {
        what: [(key, words, choices_of(farm, key), longest(key)) for key, words, _ in NEW[what].fields]
        for what in offered(farm)
    }
    named = {what: one.what for what, one in NEW.items()}
    values = {"farm": farm, "fields": fields, "lists": fields.lists, "new": new, "named": named}
    return page(desk, "farm.html", {**values, "can": undo_values(desk.edits)}, title="Farm", here=HERE)


def _read(desk: Desk) -> tuple[Farm, Said, str]:
    """Return the farm, what farm.toml says, and the digest of farm.toml."""
    content = desk.edits.settings()
    return desk.written_farm(), said_in(encoded(content, FILE).text), digest_of(content)


def _fields(desk: Desk, farm: Farm, said: Said) -> FarmFields:
    """Return the values that may be changed."""
    return fields_of(farm, said, (path.name for path in stages.begin.maps_in([desk.folder])))


def change(desk: Desk, given: Given) -> Mapping[str, object]:
    """Set one value, or take it out of farm.toml."""
    farm, said, base = _read(desk)
    fields = _fields(desk, farm, said)
    one = fields.find(given.text("key", LONGEST))
    if given.text("whose", LONGEST) != one.whose:
        raise AskedError("the crews or vehicles of farm.toml were changed meanwhile; load the page again")
    text, was = given.text("text", LONGEST_TYPED), given.text("was", LONGEST_TYPED)
    if was != one.value.strip():
        return {"both": {"name": one.name, "was": was, "mine": in_words(one, text), "theirs": one.value}}
    source = given.text("source", LONGEST_TYPED)
    values = taken_out(said, one) if given.flag("out") else changed_values(farm, said, one, text, source)
    return _written(desk, base, values, _words(fields, one))


def _words(fields: FarmFields, one: FarmField) -> str:
    title = next(group.title for group in fields.groups if one in group.fields)
    return f"{title}: {one.name}"


def add(desk: Desk, given: Given) -> Mapping[str, object]:
    """Add a crew, a vehicle, a material, a job kind, a rule of the year or what goes with one."""
    farm, said, base = _read(desk)
    return _written(desk, base, *added_values(farm, said, given))


def drop(desk: Desk, given: Given) -> Mapping[str, object]:
    """Take a crew, a vehicle, or what farm.toml says of a material, a job kind or a rule, out of it."""
    farm, said, base = _read(desk)
    try:
        kind, name = [*json.loads(given.text("key")), ""][:2]
    except (ValueError, TypeError):
        raise AskedError("the desk could not read what this page sent; load the page again") from None
    return _written(desk, base, *dropped_values(farm, said, str(kind), str(name)))


def _written(desk: Desk, base: str, values: Values, what: str) -> Mapping[str, object]:
    """Write values into farm.toml; faults that they would make are given back, in the words of the reader."""
    outcome = desk.edits.change_settings(base, values, plain_text(what, 200))
    if outcome.faults:
        return {"faults": [plain_text(fault.told) for fault in outcome.faults[:MOST_TOLD]]}
    if not outcome.kept:
        raise AskedError(outcome.said)
    return {"lines": [f"Written to {FILE}: {plain_text(what, 200)}."]}


ROUTES = [
    shown(HERE, farm_view),
    changed(f"{HERE}/set", change),
    changed(f"{HERE}/add", add),
    changed(f"{HERE}/drop", drop),
]
