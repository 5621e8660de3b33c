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

It holds no rule of the trade and no arithmetic: each view asks `routing.stages`, and shows it in the words of
`share/wording`.
"""

from typing import TYPE_CHECKING

from routing.lazily import modules_of

if TYPE_CHECKING:
    from routing.desk import start as start

__getattr__ = modules_of(__name__, "start")
