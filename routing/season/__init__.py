"""The season: what is due from rules of the year and the log of work, and what the log teaches.

Its modules are imported when they are first asked for, as `season.log.Log`: they bring a database along, and most farms
have no log yet.
"""

from typing import TYPE_CHECKING

from routing.lazily import modules_of

if TYPE_CHECKING:
    from routing.season import asked as asked
    from routing.season import checked as checked
    from routing.season import csv_files as csv_files
    from routing.season import demand as demand
    from routing.season import due as due
    from routing.season import entries as entries
    from routing.season import jobs as jobs
    from routing.season import keep_apart as keep_apart
    from routing.season import learn as learn
    from routing.season import log as log
    from routing.season import mend as mend
    from routing.season import migrate as migrate
    from routing.season import outlook as outlook
    from routing.season import past_visits as past_visits
    from routing.season import rows as rows
    from routing.season import shopping as shopping
    from routing.season import taught as taught

__getattr__ = modules_of(
    __name__,
    *("asked", "checked", "csv_files", "demand", "due", "entries", "jobs"),
    *("keep_apart", "learn", "log", "mend", "migrate", "outlook", "past_visits", "rows", "shopping", "taught"),
)
