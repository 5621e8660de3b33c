"""The few words that the log and the rules share: what may happen at a site, and what may be seen there."""

from __future__ import annotations

EVENTS = ("storm",)
"""What happens without anyone working; it may be logged like a job."""

SEEN = (
    *("stores-low", "mouse-damage", "woodpecker-damage", "lid-off", "hive-over", "queen-cells", "queenless"),
    *("robbing", "dead-colony", "suspect-brood", "inspector-clear"),
)
"""What may be seen on a visit."""

SUSPECT = "suspect-brood"
"""Calls for the inspector, and is told again until `CLEAR` is logged."""
CLEAR = "inspector-clear"
"""The inspector found it clear."""
