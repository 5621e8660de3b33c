"""The server of the desk, until it is closed."""

from __future__ import annotations

import socket
from pathlib import Path

import uvicorn

from routing.desk.access import Access
from routing.desk.app import application
from routing.desk.recent import Recent, usual_file
from routing.desk.state import Desk


def serve(listening: socket.socket, access: Access, folder: Path | None, recent: Recent | None = None) -> None:
    """Serve a desk on a socket that listens, with the farm of a folder open where one is given.

    Ctrl-C ends it and raises KeyboardInterrupt.
    """
    desk = Desk(access, recent or Recent(usual_file()))
    if folder is not None:
        desk.open(folder)
    server = uvicorn.Server(config(desk))

    def leave() -> None:
        server.should_exit = True

    desk.leave = leave
    server.run(sockets=[listening])


def config(desk: Desk) -> uvicorn.Config:
    """Return how a desk is served: by one process, with no headers of others believed."""
    return uvicorn.Config(
        application(desk),
        lifespan="off",
        ws="none",
        http="h11",
        loop="asyncio",
        proxy_headers=False,
        server_header=False,
        access_log=False,
        log_level="error",
        timeout_graceful_shutdown=1,
    )
