"""The round in the forms of other programs: what makes any of them, imported when it is first asked for."""

from typing import TYPE_CHECKING

from routing.lazily import things_of

if TYPE_CHECKING:
    from routing.share.exports.csv_table import round_csv as round_csv
    from routing.share.exports.files import read_round as read_round
    from routing.share.exports.files import round_json as round_json
    from routing.share.exports.geojson import round_geojson as round_geojson
    from routing.share.exports.gpx import round_gpx as round_gpx
    from routing.share.exports.ical import round_calendar as round_calendar
    from routing.share.exports.markdown import round_markdown as round_markdown
    from routing.share.exports.schema import round_schema as round_schema
    from routing.share.exports.workbook import round_workbook as round_workbook

_WHERE = {
    **dict.fromkeys(("round_csv",), "routing.share.exports.csv_table"),
    **dict.fromkeys(("read_round", "round_json"), "routing.share.exports.files"),
    **dict.fromkeys(("round_geojson",), "routing.share.exports.geojson"),
    **dict.fromkeys(("round_gpx",), "routing.share.exports.gpx"),
    **dict.fromkeys(("round_calendar",), "routing.share.exports.ical"),
    **dict.fromkeys(("round_markdown",), "routing.share.exports.markdown"),
    **dict.fromkeys(("round_schema",), "routing.share.exports.schema"),
    **dict.fromkeys(("round_workbook",), "routing.share.exports.workbook"),
}
__getattr__ = things_of(__name__, _WHERE)
