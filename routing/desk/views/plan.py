"""Planning in the view of a day: the search, the days put in order by hand, remedies and what-ifs, the chance."""

from __future__ import annotations

import asyncio
import datetime as dt
import json
from collections.abc import AsyncIterator, Callable, Mapping
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response, StreamingResponse
from starlette.routing import Route

from routing import desk as parts
from routing import stages
from routing.desk.given import Given
from routing.desk.serving import changed, environment, shown
from routing.desk.state import Desk, today
from routing.desk.views.tomorrow import framed
from routing.desk.views.undo import undo_values
from routing.errors import AskedError
from routing.lazily import imported
from routing.share.safety.safe import plain_text

if TYPE_CHECKING:
    from routing.desk.planner import Planner
    from routing.desk.trial import Trial

HERE = "/plan"
MOST_DAYS, MOST_SECONDS = 31, 86_400
GLANCE_SECONDS = 0.25
"""So often a stream of progress looks for news."""
OLD = "These days had changed meanwhile, in another window or by a search: this is how they stand now."


def planner_of(desk: Desk) -> Planner:
    """Return what is being planned of the open farm."""
    if desk.mark not in desk.planners:
        desk.planners[desk.mark] = parts.planner.Planner()
    return desk.planners[desk.mark]


def dates_of(desk: Desk, given: Given) -> tuple[dt.date, ...]:
    """Return the dates that are asked for: tomorrow, where none is. Raises AskedError."""
    first = given.date("on") or today(desk.farm()) + dt.timedelta(days=1)
    days = given.whole("days", 1, MOST_DAYS) or 1
    return tuple(first + dt.timedelta(days=number) for number in range(days))


def trial_of(desk: Desk, given: Given) -> Trial:
    """Return the days being put in order. Raises AskedError where there are none yet."""
    trial = planner_of(desk).trial(desk.farm(), dates_of(desk, given))
    if trial is None:
        raise AskedError("there is no round of these days yet: plan one first")
    return trial


def panel(desk: Desk, given: Given) -> Response:
    """Show the panel of a plan: a piece of the page."""
    return HTMLResponse(_panel(desk, given))


def _panel(desk: Desk, given: Given) -> str:
    planner, farm, dates = planner_of(desk), desk.farm(), dates_of(desk, given)
    trial = planner.trial(farm, dates)
    values = parts.panel.panel_values(planner, farm, dates, trial, desk.edits)
    values["can"] = undo_values(desk.edits)
    return environment().get_template("plan_panel.html").render(values)


def answer(desk: Desk, given: Given, words: str) -> Mapping[str, object]:
    """Return what a change gives the page: the panel as it stands now, and what is read out."""
    return {"html": _panel(desk, given), "said": words}


def trial_map(desk: Desk, given: Given) -> Response:
    """Show the map of the days as they are put in order, to stand in a frame."""
    trial = trial_of(desk, given)
    return framed(stages.write.map_of(desk.farm(), trial.shown().round))


def change(desk: Desk, given: Given) -> Mapping[str, object]:
    """Change the days by hand: one thing at a time, on the state that the page has seen."""
    trial = trial_of(desk, given)
    if given.whole("seen", 0, 2**31) != trial.version:
        return answer(desk, given, OLD)
    before, asked = trial.version, given.text("do", 20)
    do = _CHANGES.get(asked)
    if do is None:
        raise AskedError("the desk knows no such change")
    do(trial, given)
    if trial.version == before:
        return answer(desk, given, "Nothing changed.")
    found = trial.shown()
    told = {"undo": "Taken back", "redo": "Done again"}.get(asked, trial.state.told)
    words = imported("routing.share.wording.draft").said(told, found.round, found.breaches, trial.crew_names)
    return answer(desk, given, words)


def _crew_day(given: Given) -> tuple[str, dt.date]:
    crew, _, date = given.text("to").rpartition("|")
    return crew, Given({"date": date}).date("date") or dt.date.min


def _move(trial: Trial, given: Given) -> None:
    trial.move(given.text("job"), _crew_day(given), given.whole("place", 0, 10_000) or 0)


def _add(trial: Trial, given: Given) -> None:
    number = given.whole("number", 0, 10_000)
    left = trial.shown().round.left_out
    if number is None or number >= len(left):
        raise AskedError("this is not left out any more")
    trial.add(tuple(job.id for job in left[number].jobs), _crew_day(given) if given.text("to") else None)


def _pin(trial: Trial, given: Given) -> None:
    kinds = {str(kind): kind for kind in imported("routing.desk.trial").Pin}
    trial.pin(given.text("job"), kinds.get(given.text("pin", 20)))


_CHANGES: Mapping[str, Callable[[Trial, Given], None]] = {
    "move": _move,
    "send": lambda trial, given: trial.send(given.text("job"), _crew_day(given)),
    "drop": lambda trial, given: trial.drop(given.text("job")),
    "add": _add,
    "pin": _pin,
    "undo": lambda trial, _given: trial.undo(),
    "redo": lambda trial, _given: trial.redo(),
}


def search(desk: Desk, given: Given) -> Mapping[str, object]:
    """Begin a search: for the best round, around pins, with a remedy, or with something changed."""
    planner, dates, seconds = planner_of(desk), dates_of(desk, given), given.whole("seconds", 1, MOST_SECONDS)
    asked = given.text("for", 20)
    if asked == "plan":
        farm = desk.farm()
        place = stages.written.folder_of(farm, dates)
        stages.write.may_be_planned_into(place, farm, dates, stages.write.ground(farm, replace=True))
        planner.plan(farm, dates, seconds, even=given.flag("even"))
    elif asked == "around":
        planner.around(trial_of(desk, given), dates, seconds)
    elif asked == "remedy":
        _remedy(desk, given, seconds)
    elif asked == "what if":
        planner.what_if(desk.farm(), dates, _changes(given), seconds)
    else:
        raise AskedError("the desk knows no such search")
    return answer(desk, given, "The search has begun.")


def _remedy(desk: Desk, given: Given, seconds: int | None) -> None:
    trial, dates = trial_of(desk, given), dates_of(desk, given)
    left = trial.shown().round.left_out
    number, place = given.whole("number", 0, 10_000), given.whole("remedy", 0, 100)
    if given.whole("seen", 0, 2**31) != trial.version or number is None or place is None or number >= len(left):
        raise AskedError(OLD)
    remedies, words = left[number].remedies, given.text("words")
    if place >= len(remedies) or words not in {"", plain_text(remedies[place].text)}:
        raise AskedError(OLD)
    planner_of(desk).remedy(trial, dates, left[number], remedies[place], seconds)


def _changes(given: Given) -> stages.ask.Changes:
    clock = given.text("home_by", 10)
    try:
        home_by = dt.time.fromisoformat(clock) if clock else None
    except ValueError as error:
        raise AskedError("home by: this is not a time; write HH:MM") from error
    return stages.ask.Changes(
        earlier=given.whole("earlier", -600, 600),
        home_by=home_by,
        people=given.whole("people", -19, 19) or None,
        payload_kg=given.number("payload", -100_000, 100_000),
        slower=given.number("slower", -90, 500),
    )


def stop(desk: Desk, _given: Given) -> Mapping[str, object]:
    """Stop the search; the best checked round until now is kept."""
    run = planner_of(desk).runs.run
    if run is not None:
        run.cancel()
    return {"stopped": True}


def take(desk: Desk, given: Given) -> Mapping[str, object]:
    """Take a round that is offered, or none of them."""
    planner, dates = planner_of(desk), dates_of(desk, given)
    row = given.whole("row", 0, 10_000)
    if row is None:
        planner.decline(dates)
        return answer(desk, given, "Everything is as it was.")
    taken = planner.take(dates, row)
    if taken != dates:
        return {"go": f"/tomorrow?on={taken[0].isoformat()}&days={len(taken)}"}
    return answer(desk, given, "Taken; it is not written yet.")


def again(desk: Desk, given: Given) -> Mapping[str, object]:
    """Begin again from the round that is written."""
    planner_of(desk).begin_again(dates_of(desk, given))
    return answer(desk, given, "Begun again from the round that is written.")


def keep(desk: Desk, given: Given) -> Mapping[str, object]:
    """Write the round as `plan` does, where it passes the check against the farm as its files are now."""
    trial, dates = trial_of(desk, given), dates_of(desk, given)
    if given.whole("seen", 0, 2**31) != trial.version:
        return answer(desk, given, OLD)
    found, state = trial.shown(), trial.state
    if not found.holds:
        raise AskedError("this breaks a rule and is not written: mend it first; it stays here as it is")
    if state.assumed:
        raise AskedError(
            f"this rests on what the farm's files do not say ({'; '.join(state.assumed)}): "
            "write it there first, then plan again"
        )
    farm = desk.farm()
    round_ = stages.own_days.finished(farm, found.round)
    written = stages.write.write_plan(farm, round_, replace=given.flag("replace"))
    trial.written(farm, round_)
    lines = [f"Written to {written.filled.paths[0].parent}: {', '.join(path.name for path in written.filled.paths)}."]
    lines += [f"Note: {written.forgotten}"] if written.forgotten else []
    told = [plain_text(line, 1000) for line in lines]
    more = f"&days={len(dates)}" if len(dates) > 1 else ""
    return {**answer(desk, given, told[0]), "lines": told, "go": f"/tomorrow?on={dates[0].isoformat()}{more}"}


def chance(desk: Desk, given: Given) -> Mapping[str, object]:
    """Tell how likely each stop and the day is in time, and what to skip when behind."""
    trial = trial_of(desk, given)
    found = trial.shown()
    if not found.holds or not found.round.itineraries:
        raise AskedError("the chance is told of days that keep every rule")
    values = parts.panel.chance_values(trial.ready.chance(found.round))
    return {"html": environment().get_template("plan_chance.html").render(values)}


async def progress(request: Request) -> Response:
    """Tell of the search as it goes on, by server-sent events; the stream ends with the search."""
    desk: Desk = request.app.state.desk
    planner = desk.planners.get(desk.mark)

    async def told() -> AsyncIterator[str]:
        last = (-1, -1)
        while planner is not None and (run := planner.runs.run) is not None and (now := run.standing).running:
            if last != (now.number, int(now.seconds_gone)):
                last = (now.number, int(now.seconds_gone))
                yield f"event: standing\ndata: {json.dumps(parts.panel.progress(now))}\n\n"
            if await request.is_disconnected():
                return
            await asyncio.sleep(GLANCE_SECONDS)
        yield "event: over\ndata: {}\n\n"

    return StreamingResponse(told(), media_type="text/event-stream")


ROUTES = [
    shown(f"{HERE}/panel", panel),
    shown(f"{HERE}/map", trial_map),
    changed(f"{HERE}/change", change),
    changed(f"{HERE}/search", search),
    changed(f"{HERE}/stop", stop, alone=False),
    changed(f"{HERE}/take", take),
    changed(f"{HERE}/again", again),
    changed(f"{HERE}/keep", keep),
    changed(f"{HERE}/chance", chance, alone=False),
    Route(f"{HERE}/progress", progress, methods=["GET"], name=f"GET {HERE}/progress"),
]
