"""What to skip when behind, in words."""

from __future__ import annotations

import datetime as dt
from typing import Protocol

from routing.plain_words import chance_words
from routing.share.safety.safe import plain_name
from routing.share.wording.words import minute_by, minute_reached

HURRY = "Skip a stop rather than hurry with bees, lift in haste or drive tired: no plan is worth an accident."


class Skipped(Protocol):
    """One stop to skip where another is left late."""

    @property
    def leaving(self) -> str:
        """The name of the stop that is left."""

    @property
    def leave(self) -> dt.datetime:
        """When it is left by the plan."""

    @property
    def after(self) -> dt.datetime:
        """Left after this, the rest does not hold any more."""

    @property
    def skip(self) -> str:
        """The name of the stop to skip."""

    @property
    def until(self) -> dt.datetime:
        """Left by this, the rest holds without it, likelier than not."""

    @property
    def need(self) -> float:
        """The share of days on which one is so late."""


def at_minute(minute: dt.datetime, moment: dt.datetime) -> str:
    """Return a minute in the zone of the moment, as the plan of the same day shows it."""
    return f"{minute.astimezone(moment.tzinfo):%H:%M}"


def drop_words(drop: Skipped) -> str:
    """Return when to skip which stop, in a sentence or two."""
    planned = at_minute(minute_reached(drop.leave), drop.leave)
    after = at_minute(max(minute_by(drop.after), minute_reached(drop.leave)), drop.leave)
    return (
        f"If you leave {plain_name(drop.leaving)} after {after} (planned {planned}), skip "
        f"{plain_name(drop.skip)}: the rest then fits, likelier than not, until {drop.until:%H:%M}. "
        f"You are that late on {chance_words(drop.need)} of days."
    )
