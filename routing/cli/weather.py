"""The commands of the weather: fetch a forecast, show the one that plans are made with."""

from __future__ import annotations

import datetime as dt

import typer

from routing import weather
from routing.cli.farms import farm_as_written
from routing.cli.options import Folder
from routing.cli.telling import say, told_plainly

commands = typer.Typer(rich_markup_mode=None)


@commands.command()
def fetch(folder: Folder) -> None:
    """Fetch the forecast for base and keep it in the farm folder. The only command that uses the network."""
    with told_plainly():
        forecast = weather.fetch.fetch_forecast(farm_as_written(folder), dt.datetime.now(dt.UTC))
        say(f"Kept: {len(forecast.spells)} hours from {forecast.source}.")


@commands.command()
def show(folder: Folder) -> None:
    """Print the forecast that plans are made with, day by day, and its age."""
    with told_plainly():
        for line in weather.report.forecast_lines(farm_as_written(folder), dt.datetime.now(dt.UTC)):
            say(line)
