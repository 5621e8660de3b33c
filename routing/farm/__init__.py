"""The farm folder: models, tables, places and the catalogue of job kinds."""

from typing import TYPE_CHECKING

from routing.lazily import modules_of

if TYPE_CHECKING:
    from routing.farm import new_farm as new_farm

__getattr__ = modules_of(__name__, "new_farm")
