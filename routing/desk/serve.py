"""The server of the desk, until it is closed."""

from __future__ import annotations

import socket
from collections.abc import Callable
from pathlib import Path
from threading import Timer

import uvicorn

from routing.desk.access import Access
from routing.desk.app import application
from routing.desk.recent import Recent, usual_file
from routing.desk.state import Desk
from routing.lazily import imported

READY_AFTER_SECONDS = 4.0
"""After that what a search has compiled on a machine once is compiled beside; the first page comes before."""


def serve(listening: socket.socket, access: Access, folder: Path | None, fault: Callable[[Exception], str]) -> None:
    """Serve a desk on a socket that listens, with the farm of a folder open where one is given.

    `fault` words an error that nobody foresaw. Ctrl-C ends it and raises KeyboardInterrupt.
    """
    desk = Desk(access, Recent(usual_file()), fault=fault)
    if folder is not None:
        desk.open(folder)
    server = uvicorn.Server(config(desk))

    def leave() -> None:
        server.should_exit = True

    desk.leave = leave
    beside = Timer(READY_AFTER_SECONDS, lambda: imported("routing.stages.compiling").compile_beside())
    beside.daemon = True
    beside.start()
    try:
        server.run(sockets=[listening])
    finally:
        beside.cancel()


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
        log_config=None,
        log_level="critical",  # a traceback holds what was read; a fault is told as `Desk.fault` words it
        timeout_graceful_shutdown=1,
    )
