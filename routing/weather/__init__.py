"""Forecasts: read, held against the limits of each kind of job, and told."""

from typing import TYPE_CHECKING

from routing.lazily import modules_of

if TYPE_CHECKING:
    from routing.weather import fetch as fetch
    from routing.weather import report as report

__getattr__ = modules_of(__name__, "fetch", "report")
