"""The desk: a page on one's own machine to work in, on the same plain files as the commands.

start     binds the address and opens the browser
serve     serves until it is closed
access    the address, the key that is used once, the cookie
guard     who may come in, and what no request may do
state     the farm that is open and the version of its files
serving   how a view answers: pages, changes, and what went wrong in words
given     what the browser sends, field by field
app       the routes, gathered from the views
recent    the farms that were opened last
planner   what is planned at the desk: the days put in order by hand, the search under way, what it offers
panel     what the page of a plan shows
trial     the states of days put in order by hand, with undo and redo
kept_in_files  what the farm's files would have to say for a round that rests on something
rewriting what would be written there, line by line, and the writing
runs      searches in processes of their own
searcher  what such a process does

It holds no rule of the trade and no arithmetic: each view asks `routing.stages`, and shows it in the words of
`share/wording`.
"""

from typing import TYPE_CHECKING

from routing.lazily import modules_of

if TYPE_CHECKING:
    from routing.desk import kept_in_files as kept_in_files
    from routing.desk import panel as panel
    from routing.desk import planner as planner
    from routing.desk import rewriting as rewriting
    from routing.desk import start as start

__getattr__ = modules_of(__name__, "kept_in_files", "panel", "planner", "rewriting", "start")
