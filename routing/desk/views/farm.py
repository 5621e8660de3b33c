"""The farm as its files say: crews, vehicles, stock, rules and job kinds, with the source beside each number."""

from __future__ import annotations

from starlette.responses import Response

from routing.desk.given import Given
from routing.desk.serving import page, shown
from routing.desk.state import Desk
from routing.plain_words import count
from routing.share.wording.farm_numbers import kind_numbers, rule_numbers, year_numbers

HERE = "/farm"


def farm_view(desk: Desk, _given: Given) -> Response:
    """Show what the farm's files say, before anything is learned from its record."""
    farm = desk.written_farm()
    stock = [(material, farm.stock.get(material.id)) for material in farm.materials.values()]
    values = {
        "farm": farm,
        "stock": sorted(stock, key=lambda each: (each[1] is None, each[0].name.casefold())),
        "rules": rule_numbers(farm),
        "kinds": kind_numbers(farm),
        "year": year_numbers(farm),
        "count": count,
    }
    return page(desk, "farm.html", values, title="Farm", here=HERE)


ROUTES = [shown(HERE, farm_view)]
