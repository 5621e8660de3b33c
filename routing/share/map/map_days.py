"""Whose line a day has on the map: one person or team has one colour and one pattern on all its days."""

from __future__ import annotations

from markupsafe import Markup

from routing.round import Round
from routing.share.pages.inline import script_value, template_text
from routing.share.wording.persons import days_of
from routing.share.wording.words import short_date


def person_of(round_: Round, index: int) -> int:
    """Return the number, from 0, of whoever makes the itinerary at `index`, in the order of the round."""
    first = [days_of(round_, day)[0] for day in round_.itineraries]
    return list(dict.fromkeys(map(id, first))).index(id(first[index]))


def day_class(round_: Round, index: int) -> str:
    """Return the class that everything of an itinerary's date has on the map."""
    dates = sorted({day.date for day in round_.itineraries})
    return f"day-{dates.index(round_.itineraries[index].date)}"


def day_names(round_: Round) -> tuple[str, ...]:
    """Return the dates on which somebody goes out as the switch names them; none where there is only one."""
    dates = sorted({day.date for day in round_.itineraries})
    return tuple(short_date(date) for date in dates) if len(dates) > 1 else ()


def days_script(round_: Round, box: str) -> str:
    """Return the script that makes the switch of days work; nothing for a round of one day."""
    if not day_names(round_):
        return ""
    return f"{template_text('map_days.js')}\nswitchDays({box}, {script_value(day_names(round_))});\n"


def name_tag(name: str, light: str) -> Markup:
    """Return the words at a pin: the site's name, and below it what light is left on finishing."""
    return Markup(
        '<span class="tag"><bdi class="tag-name">{}</bdi><span class="tag-light">{} left</span></span>'
    ).format(name, light)
