"""Drives and walks: straight lines, known drives, and road maps.

Its modules are imported when they are first asked for, as `travel.roads.farm`: only a farm with a road map pays for the
road engine's libraries.
"""

from typing import TYPE_CHECKING

from routing.lazily import modules_of

if TYPE_CHECKING:
    from routing.travel import farm as farm
    from routing.travel import geocoder as geocoder
    from routing.travel import known as known
    from routing.travel import legs as legs
    from routing.travel import roads as roads

__getattr__ = modules_of(__name__, "farm", "geocoder", "known", "legs", "roads")
