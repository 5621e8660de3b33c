"""The farm folder: models, tables, places and the catalogue of job kinds.

The modules below are imported when they are first asked for, as `farm.zones.zone_at`: each brings a heavy library along
that most farms do not need.
"""

from typing import TYPE_CHECKING

from routing.lazily import modules_of

if TYPE_CHECKING:
    from routing.farm import languages as languages
    from routing.farm import national_grids as national_grids
    from routing.farm import new_farm as new_farm
    from routing.farm import workbook_open as workbook_open
    from routing.farm import zones as zones

__getattr__ = modules_of(__name__, "languages", "national_grids", "new_farm", "workbook_open", "zones")
