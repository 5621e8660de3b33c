"""The numbers that a crew's page reckons with, against the round as it is shown."""

from __future__ import annotations

from routing.round import DayNumbers, NumbersStop, Round


def assert_numbers_give_planned_times(round_: Round) -> None:
    """Assert that drives, walk, set-up, work and windows add up to each day as it is shown."""
    for itinerary in round_.itineraries:
        numbers = itinerary.numbers
        if numbers is None:
            continue
        start = numbers.midnight.timestamp()
        for stop in numbers.planned:
            shown, last = itinerary.stops[stop.at], itinerary.stops[stop.to]
            assert shown.drive.seconds == numbers.seconds[stop.at][stop.at + 1]
            assert shown.on_site_seconds == _on_site(stop)
            if stop.move is not None:
                assert last.drive.seconds == stop.move.drive_seconds
                moved = -(-round(stop.move.hive_seconds * stop.jobs[0].hives * 1e6) // 10**6)
                assert last.on_site_seconds == stop.move.walk_seconds + stop.move.set_up_seconds + moved
            begins, ends = shown.start.timestamp() - start, last.finish.timestamp() - start
            whole = tuple(range(len(stop.jobs)))
            assert any(w.opens <= begins and ends <= w.closes and w.jobs == whole for w in stop.windows)
        assert itinerary.home_by.timestamp() - start == numbers.home_by
        loaded = {item.material: item.loaded for item in numbers.materials}
        assert all(amount <= loaded[material] + 0.5 for material, amount in _used(numbers).items())


def _on_site(stop: NumbersStop) -> int:
    work = sum(-(-round(job.hive_seconds * job.hives * 1e6) // 10**6) for job in stop.jobs)
    return stop.walk_seconds + max(job.set_up_seconds for job in stop.jobs) + work


def _used(numbers: DayNumbers) -> dict[str, float]:
    found: dict[str, float] = {}
    for stop in numbers.planned:
        for job in stop.jobs:
            for each in job.takes:
                found[each.material] = found.get(each.material, 0) + each.thousandths * job.hives
    return found
