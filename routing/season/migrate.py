"""Bringing a log up to date, with the library for that, which is heavy and needed for a new or an old log only."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection

from routing.season.database import NEWEST


def run_steps(connection: Connection) -> None:
    """Make the tables of a log, or bring old ones up to date; raises what the database does."""
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, NEWEST)
