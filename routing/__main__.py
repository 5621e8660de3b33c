"""`python -m routing` is `outyard`."""

from __future__ import annotations

from routing.cli import app

if __name__ == "__main__":
    app()
