"""A site is found by its id at once, and in the farm that is asked, whatever farms there were before."""

from __future__ import annotations

import gc

import pytest

from routing.farm.by_id import MOST_KEPT, ById
from routing.farm.models import Farm, Place, Site
from tests.check.small_farm import FARM


def moved(farm: Farm, latitude: float) -> Farm:
    place = Place(latitude=latitude, longitude=0.0)
    return farm.model_copy(update={"sites": tuple(site.model_copy(update={"place": place}) for site in farm.sites)})


def test_each_farm_answers_with_its_own_site() -> None:
    first = FARM.sites[0]
    assert FARM.site(first.id) is first
    for number in range(3 * MOST_KEPT):
        there = moved(FARM, float(number))
        assert there.site(first.id).place.latitude == number
        del there
        gc.collect()
    assert FARM.site(first.id) is first


def test_an_unknown_id_is_told() -> None:
    with pytest.raises(KeyError, match="nowhere"):
        FARM.site("nowhere")


def test_of_two_with_one_id_the_first_is_found_and_few_tuples_are_kept() -> None:
    sites = ById[Site]()
    first, second = FARM.sites[0], FARM.sites[1].model_copy(update={"id": FARM.sites[0].id})
    assert sites.of((first, second))[first.id] is first
    kept = [tuple(FARM.sites) + (first,) * number for number in range(2 * MOST_KEPT)]
    for each in kept:
        assert sites.of(each)[FARM.sites[1].id] is FARM.sites[1]
    assert len(sites._kept) == MOST_KEPT
