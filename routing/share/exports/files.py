"""The round as JSON, and read again from it."""

from __future__ import annotations

from pathlib import Path

from pydantic import ValidationError

from routing.errors import AskedError
from routing.farm.plain_files import read_plain
from routing.round import Round
from routing.share.safety.safe import plain_text

TOLD_LONGEST = 300
"""Characters of a place in a file that are told."""


def round_json(round_: Round) -> str:
    """Return the round as JSON, fields in the types' order, ending with a newline; `round_schema` describes it."""
    return round_.model_dump_json(indent=2) + "\n"


LARGEST_ROUND_BYTES = 50_000_000
"""A larger file is no round: that of a thousand stops stays far below."""


def read_round(path: Path) -> Round:
    """Return the round that a `round.json` holds. Raises AskedError where it holds none."""
    try:
        return Round.model_validate_json(read_plain(path, LARGEST_ROUND_BYTES))
    except OSError as error:
        raise AskedError(f"{path}: cannot be read ({error.strerror}); name a round.json") from error
    except ValidationError as error:
        first = error.errors()[0]
        where = plain_text(".".join(str(part) for part in first["loc"]), TOLD_LONGEST) or "the file"  # keys of the file
        raise AskedError(f"{path}: is not a round of this version: {where}: {first['msg']}; plan it again") from error
