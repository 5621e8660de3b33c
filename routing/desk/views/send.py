"""A round given away, of a day or of several: what will be in it is said first, and only what is ticked is made."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import TYPE_CHECKING

from starlette.responses import PlainTextResponse, Response

from routing import stages
from routing.desk.given import Given
from routing.desk.serving import changed, page, shown
from routing.desk.state import Desk
from routing.desk.views.tomorrow import dates_asked, words_of, written_rounds
from routing.errors import AskedError
from routing.farm.plain_files import read_plain
from routing.share.pages.file_names import slug
from routing.share.safety import passphrase as secrets
from routing.share.safety.private import private_of
from routing.share.safety.safe import plain_name, plain_text
from routing.share.wording import sends
from routing.share.wording.words import short_date

if TYPE_CHECKING:
    from routing.farm.models import Farm
    from routing.round import Round

HERE = "/send"
LARGEST_FILE = 50_000_000
LONGEST_PATH = 1000
NO_ROUND = "No round is written for {} yet: plan it first, under Tomorrow."
_DAY = dt.timedelta(days=1)

type Dates = tuple[dt.date, dt.date]
"""The first and the last day of a round."""


def send(desk: Desk, given: Given) -> Response:
    """Show what may be made of a round, and what stands ready."""
    farm, dates = desk.farm(), dates_asked(desk, given)
    words = words_of(*dates)
    values = {
        "on": dates[0].isoformat(),
        "days_asked": (dates[1] - dates[0]).days + 1,
        "day": words,
        "round": stages.written.written_plan(farm, *dates) is not None,
        "no_round": NO_ROUND.format(words),
        "written": written_rounds(farm, *dates),
        "kinds": sends.KINDS,
        "ready": _ready(farm, dates),
        "places": sends.PLACES,
        "folder": plain_text(str(stages.written.sent_folder(farm, *dates)), LONGEST_PATH),
    }
    return page(desk, "send.html", values, title="Send", here=HERE)


def _ready(farm: Farm, dates: Dates) -> list[tuple[str, str]]:
    """Return what stands ready with what it is for, pages for the phone first, in the order of their days."""
    first, last = dates
    days = [first + number * _DAY for number in range((last - first).days + 1)]
    crews = {
        f"{day.isoformat()}-{slug(crew.id)}.html": plain_name(crew.name) + (f", {short_date(day)}" if days[1:] else "")
        for day in days
        for crew in farm.crews
    }
    named = [(name, sends.file_words(name, crews)) for name in stages.written.files_to_send(farm, first, last)]
    return sorted(named, key=lambda one: (not one[1].startswith(sends.CREW), one[0]))


def look(desk: Desk, given: Given) -> Mapping[str, object]:
    """Say what will be in what is ticked; make nothing."""
    farm = desk.farm()
    return {"will": _will(farm, _round(farm, dates_asked(desk, given)), given)}


def make(desk: Desk, given: Given) -> Mapping[str, object]:
    """Make what is ticked."""
    farm, dates = desk.farm(), dates_asked(desk, given)
    round_ = _round(farm, dates)
    if not _will(farm, round_, given):
        raise AskedError("nothing is ticked: choose what to make")
    saved = stages.written.folder_of(farm, round_.dates) / "round.json"
    told: list[str] = []
    if given.flag("pages"):
        checked = stages.plan.saved(farm, round_.model_dump_json())
        written = stages.write.write_plan(
            farm, checked, with_private=given.flag("private"), nicknames=given.flag("nicknames")
        )
        told += [written.forgotten, *(f"Written: {path}" for path in written.filled.paths)]
    wanted = _wanted(farm, dates, given)
    if wanted.lock or any(wanted.files.values()):
        known = stages.share.known_names(farm)
        words = secrets.sound_passphrase(given.text("passphrase"), known) if wanted.lock else ""
        shared = stages.share.share_round(farm, saved, wanted, passphrase=lambda: words)
        told += [shared.forgotten, *(f"Written: {path}" for path in shared.paths)]
        told += [f"Removed, for it opens without a passphrase: {name}" for name in shared.removed]
        told += [f"Beside the locked pages this opens without a passphrase: {name}" for name in shared.open_beside]
        told.append(secrets.passphrase_advice(words, known) if wanted.lock else "")
    more = f"&days={len(round_.dates)}" if len(round_.dates) > 1 else ""
    go = f"{HERE}?on={dates[0].isoformat()}{more}"
    return {"lines": [plain_text(line, LONGEST_PATH) for line in told if line], "go": go}


def file(desk: Desk, given: Given) -> Response:
    """Give a file that stands ready, to be kept by the browser and never shown as a page of the desk."""
    path = stages.written.files_to_send(desk.farm(), *dates_asked(desk, given)).get(given.text("name"))
    if path is None:
        return PlainTextResponse("There is no such file.\n", 404)
    try:
        content = read_plain(path, LARGEST_FILE)
    except OSError as error:
        raise AskedError(f"{path.name}: cannot be read ({error.strerror})") from error
    plain = "".join(letter for letter in path.name if letter.isascii() and (letter.isalnum() or letter in ".-_"))
    headers = {"content-disposition": f'attachment; filename="{plain}"'}
    return Response(content, media_type="application/octet-stream", headers=headers)


def _round(farm: Farm, dates: Dates) -> Round:
    found = stages.written.written_plan(farm, *dates)
    if found is None:
        raise AskedError(NO_ROUND.format(words_of(*dates)))
    return found


def _wanted(farm: Farm, dates: Dates, given: Given) -> stages.share.Wanted:
    folder = stages.written.sent_folder(farm, *dates)
    name = "-to-".join(dict.fromkeys(date.isoformat() for date in dates))
    return stages.share.Wanted(
        {key: folder / f"round-{name}.{kind.ending}" if given.flag(key) else None for key, kind in sends.KINDS.items()},
        lock=given.flag("lock"),
        with_private=given.flag("private"),
        nicknames=given.flag("nicknames"),
        only_locked=given.flag("only_locked"),
    )


def _will(farm: Farm, round_: Round, given: Given) -> list[str]:
    """Return what will be made and what is in it, nothing where nothing is ticked."""
    made = [f"{kind.name}: {kind.holds}." for key, kind in sends.KINDS.items() if given.flag(key)]
    made += [f"{words}." for key, words in (("pages", sends.PAGES), ("lock", sends.LOCKED)) if given.flag(key)]
    if not made:
        return []
    files, pages = any(given.flag(key) for key in sends.KINDS), given.flag("pages") or given.flag("lock")
    made += sends.days_lines(round_, files=files, pages=pages)
    stops = {stop.site for day in round_.itineraries for stop in day.at_sites}
    private = sends.private_words(len(stops & private_of(farm).keys())) if given.flag("private") else sends.NO_PRIVATE
    names = [sends.NICKNAMES] if given.flag("nicknames") else []
    return [*made, private, *names, sends.PLACES, *([sends.FORGOTTEN] if given.flag("lock") else [])]


ROUTES = [
    shown(HERE, send),
    changed(f"{HERE}/look", look, alone=False),
    changed(f"{HERE}/make", make),
    shown(f"{HERE}/file", file),
]
