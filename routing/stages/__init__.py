"""The straight line from a farm folder to a checked round, each stage a module, imported when it is first asked for.

read         a farm from its folder, with its forecast and what its record teaches
begin        a new farm, and the example
due          what is due of it, by the rules of the year and the log
plan         the checked round of a day or more
kept         a written round found again, while all that it rests on is the same
ask          whether all fits, an own order, the rest of a day, something changed, the chance that it holds
file_changes what the farm's files would have to say for what a round rests on
own_days     days that a person puts in order by hand
write        a round as files
find         where a place is, and the road near it
written      rounds that stand in the farm's folder
record       what was done, written down by hand
reports      what helpers send back, into the log
share        a round given away, the files that are asked for
season_page  the calendar page of the season
taken        something due as a row of the table of jobs

Nothing here prints, ends the program or knows a command: each function takes a folder or a farm, gives a typed result
and raises the errors of `routing.errors`.
"""

from typing import TYPE_CHECKING

from routing.lazily import modules_of

if TYPE_CHECKING:
    from routing.stages import ask as ask
    from routing.stages import begin as begin
    from routing.stages import due as due
    from routing.stages import file_changes as file_changes
    from routing.stages import find as find
    from routing.stages import kept as kept
    from routing.stages import own_days as own_days
    from routing.stages import plan as plan
    from routing.stages import read as read
    from routing.stages import record as record
    from routing.stages import reports as reports
    from routing.stages import season_page as season_page
    from routing.stages import share as share
    from routing.stages import taken as taken
    from routing.stages import write as write
    from routing.stages import written as written

__getattr__ = modules_of(
    __name__,
    *("ask", "begin", "due", "file_changes", "find", "kept", "own_days", "plan", "read", "record", "reports"),
    *("season_page", "share", "taken", "write", "written"),
)
