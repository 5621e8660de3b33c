"""Roads: an OpenStreetMap extract made into drives, offline. Only this package imports the road engine and its readers.

tags      what a vehicle may use and how fast, from the tags of one way
may_stop  where a vehicle may stop, what is walked and what bars a walk, from the tags of one way
extract   the extract read once: ways, barriers, railways and rivers, place names
graphs    groups and distances in a graph
joined    which roads lead to each other and back
ground    what matters for stopping and walking, kept beside the tiles
plane     distances and crossings of lines around a place
on_foot   walks over open ground and by the map's ways
snap      what is asked for a place, and where a vehicle stops for it
stopping  the choice of that place
walks     its walking minutes, and in words
cache     files kept in the user's cache folder, each under a digest
about     what a build says of itself, and whether it is whole
build     tiles for each sort of vehicle, in the user's cache folder
tiles     the road engine's own program, which makes them
sweep     clearing what killed builds and old maps left there
engine    times and distances, and ways, from built tiles
kept      stopping places and the whole matrix, kept on disk
store     lines and names for the map's background
farm      the legs of a farm
"""

from typing import TYPE_CHECKING

from routing.lazily import modules_of

if TYPE_CHECKING:
    from routing.travel.roads import farm as farm
    from routing.travel.roads import graphs as graphs
    from routing.travel.roads import report as report

__getattr__ = modules_of(__name__, "farm", "graphs", "report")
