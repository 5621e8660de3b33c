"""What of an offered round, or of days that rest on something, the farm's files would have to say."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from routing import stages
from routing.desk.edits import Edits
from routing.desk.planner import Offer
from routing.desk.rewriting import preview
from routing.desk.trial import Trial
from routing.errors import OutyardError
from routing.farm.models import Farm
from routing.round import RemedyKind, Round
from routing.share.safety.safe import plain_text
from routing.share.wording.file_changes import PLAN_ANEW, REST_FIRST, ROUND_ALONE, STALE
from routing.stages.file_changes import FileChanges

_DAY = dt.timedelta(days=1)
PUTS_OFF = frozenset({RemedyKind.OTHER_DAY, RemedyKind.LEAVE_OUT})


def changes_of_offer(farm: Farm, dates: Sequence[dt.date], offer: Offer, row: int) -> FileChanges:
    """Return the changes of the farm's files that hold an offered round."""
    one = offer.rows[row]
    if offer.files is None or offer.files != farm:
        return FileChanges(unheld=(STALE,))
    rests = stages.file_changes.between(farm, one.farm)
    if offer.remedy in PUTS_OFF and rests != FileChanges():
        return FileChanges(unheld=(REST_FIRST,))
    try:
        if offer.remedy is RemedyKind.OTHER_DAY:
            return stages.file_changes.put_off(farm, offer.jobs, dates[-1], one.round.dates[-1])
        if offer.remedy is RemedyKind.LEAVE_OUT:
            lost = [job for job in _done(offer.beside) if job not in set(_done(one.round))]
            return stages.file_changes.put_off(farm, lost, dates[-1], dates[-1] + _DAY)
    except OutyardError as error:
        return FileChanges(unheld=(str(error),))
    return rests


def changes_of_trial(farm: Farm, trial: Trial) -> FileChanges:
    """Return the changes of the farm's files that hold what the days rest on."""
    if trial.stale(farm):
        return FileChanges(unheld=(STALE,))
    return stages.file_changes.between(trial.files, trial.state.farm)


def told(edits: Edits, changes: FileChanges, *, anew: bool) -> dict[str, object]:
    """Return for a template what would be written, what no file holds, and the digest of the file as it is.

    `anew` is whether the days are to be planned again after it.
    """
    if not changes.may_be_written:
        return {"lines": [], "told": [plain_text(line) for line in changes.unheld or (ROUND_ALONE,)], "base": ""}
    found = preview(edits, changes)
    after = [PLAN_ANEW] if anew and not found.why_not else []
    return {"lines": found.lines, "told": [found.why_not] if found.why_not else after, "base": found.base}


def _done(round_: Round) -> tuple[str, ...]:
    return tuple(job.id for day in round_.itineraries for stop in day.stops for job in stop.jobs)
