"""The desk from outside: a free port of this machine alone, the browser opened on it, served until it is closed."""

from __future__ import annotations

import html
import socket
import tempfile
import webbrowser
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Thread

from routing.desk.access import Access
from routing.lazily import imported
from routing.output.whole import write_new

LOCAL = "127.0.0.1"
WAITING = 64
"""Requests that may wait while the desk is busy."""

_LEADS = (
    '<!DOCTYPE html><html lang="en-GB"><meta charset="utf-8"><meta name="referrer" content="no-referrer">'
    '<meta http-equiv="refresh" content="0; url={address}"><title>The desk</title>'
    '<p><a href="{address}">To the desk</a></p></html>\n'
)


def open_desk(folder: Path | None, say: Callable[[str], None], *, browser: bool = True) -> None:
    """Serve the desk on a free port of this machine until it is closed or Ctrl-C is pressed.

    `say` is told the address, which lets one browser in, once. A browser is led there by a file that nobody else can
    read, so that the key stands in no list of running programs. It starts while the rest of the program is imported:
    its first request waits in the socket until then.
    """
    with socket.create_server((LOCAL, 0), backlog=WAITING) as listening:
        access = Access(listening.getsockname()[1])
        with _leading_file(access.entrance) as file:
            if browser:
                Thread(target=webbrowser.open, args=(file.as_uri(),), daemon=True).start()
            say(f"The desk is at {access.entrance}")
            say("This address opens it once. Leave this window open while you work; Ctrl-C closes the desk.")
            try:
                imported("routing.desk.serve").serve(listening, access, folder)
            except KeyboardInterrupt:
                say("The desk is closed.")


@contextmanager
def _leading_file(address: str) -> Iterator[Path]:
    """Give a file, for its owner alone, that leads a browser to an address; it goes at the end of the block."""
    with tempfile.TemporaryDirectory(prefix="outyard-", ignore_cleanup_errors=True) as folder:  # made with mode 0700
        file = Path(folder) / "desk.html"
        write_new(file, _LEADS.format(address=html.escape(address)).encode(), private=True)
        yield file
