"""Runs the steps on the connection that the log hands over, inside the transaction that it has begun."""

from __future__ import annotations

from alembic import context

context.configure(connection=context.config.attributes["connection"], transactional_ddl=True)
context.run_migrations()
