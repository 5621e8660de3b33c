"""Where output may go, and how it is written: whole, beside what the farmer wrote, and never over it."""

from typing import TYPE_CHECKING

from routing.lazily import modules_of

if TYPE_CHECKING:
    from routing.output import places as places
    from routing.output import single as single

__getattr__ = modules_of(__name__, "places", "single")
