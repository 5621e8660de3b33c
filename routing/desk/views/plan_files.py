"""A remedy or a what-if written into the farm's files: exactly the lines that the page showed, undone as any change."""

from __future__ import annotations

from collections.abc import Mapping

from routing import desk as parts
from routing import stages
from routing.desk.given import Given
from routing.desk.serving import changed
from routing.desk.state import Desk
from routing.desk.views.plan import OLD, answer, dates_of, planner_of, trial_of
from routing.errors import AskedError
from routing.farm.models import Farm
from routing.share.safety.safe import plain_text
from routing.share.wording.file_changes import WRITTEN
from routing.stages.file_changes import FileChanges


def into_files(desk: Desk, given: Given) -> Mapping[str, object]:
    """Write what an offered round, or what the days being put in order rest on, would have the files say."""
    planner, dates, farm = planner_of(desk), dates_of(desk, given), desk.farm()
    row = given.whole("row", 0, 10_000)
    if row is None:
        trial = trial_of(desk, given)
        if given.whole("seen", 0, 2**31) != trial.version:
            raise AskedError(OLD)
        changes, what = parts.kept_in_files.changes_of_trial(farm, trial), "; ".join(trial.state.assumed)
        told = _written(desk, given, changes, what)
        now = desk.farm()
        if _says_all(now, trial.state.farm, changes):
            trial.stands_in_files(now)
        return {**answer(desk, given, told), "lines": [told]}
    one = planner.offered(dates, row)
    offer = planner.offers[dates]
    changes = parts.kept_in_files.changes_of_offer(farm, dates, offer, row)
    told = _written(desk, given, changes, offer.named(row))
    now = desk.farm()
    if _says_all(now, one.farm, changes) and one.round.dates == dates:
        planner.take_as_written(now, dates, row)
        return {**answer(desk, given, told), "lines": [told]}
    planner.decline(dates)
    return {"lines": [told], "go": f"/tomorrow?on={dates[0].isoformat()}&days={len(dates)}"}


def _written(desk: Desk, given: Given, changes: FileChanges, what: str) -> str:
    if not changes.may_be_written:
        raise AskedError("\n".join(changes.unheld) or OLD)
    if changes.begins_log:
        stages.taken.begin_log(desk.farm())
    outcome = parts.rewriting.write(desk.edits, changes, given.text("base", 100), what)
    return plain_text(WRITTEN.format(file=outcome.file, what=outcome.said))


def _says_all(farm: Farm, wanted: Farm, changes: FileChanges) -> bool:
    """Return whether the files say now all that a farm as it was assumed to be says: rows of jobs are wanted anew."""
    return bool(changes.settings) and stages.file_changes.between(farm, wanted) == FileChanges()


ROUTES = [changed("/plan/files", into_files)]
