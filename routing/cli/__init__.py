"""The commands: parse, call a stage, print, choose the exit code."""

from typing import TYPE_CHECKING

from routing.lazily import modules_of

if TYPE_CHECKING:
    from routing.cli import app as app
    from routing.cli import ends as ends

__getattr__ = modules_of(__name__, "app", "ends")
