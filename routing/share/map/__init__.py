"""The map of a round; what draws the land around a farm is imported when it is first asked for."""

from typing import TYPE_CHECKING

from routing.lazily import modules_of

if TYPE_CHECKING:
    from routing.share.map import around as around

__getattr__ = modules_of(__name__, "around")
