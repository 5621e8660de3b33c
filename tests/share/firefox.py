"""Firefox as the distribution packages it, driven by Playwright in the standard way (WebDriver BiDi).

Playwright sends one command to every new page that only Firefox 154 and later know, for a colour scheme, and gives up where it
is unknown. Run as a program, this starts Firefox in its place and stands between the two: whatever is said goes through as
it is, but for the answer that this one command is unknown, which becomes an answer that it is done.

Source: RFC 6455, 5.2, for what frames of a WebSocket look like.
"""

from __future__ import annotations

import asyncio
import json
import re
import shlex
import shutil
import sys
from asyncio import IncompleteReadError, StreamReader, StreamWriter
from contextlib import suppress
from functools import partial
from pathlib import Path

FIREFOX = shutil.which("firefox-esr") or shutil.which("firefox")
LISTENING = re.compile(rb"(?<=WebDriver BiDi listening on ws://127\.0\.0\.1:)\d+")
HOST = re.compile(rb"(?i)(?<=\r\nhost: )[^\r]*")
OF_ONE_BYTE = 126
MASK = 2**7 - 1


def program(folder: Path) -> Path:
    """Return a program to start in place of Firefox, which is on this computer."""
    file = folder / "firefox"
    file.write_text(f'#!/bin/sh\nexec {shlex.join((sys.executable, __file__))} "$@"\n', encoding="utf-8")
    file.chmod(0o700)
    return file


async def _frame(reader: StreamReader) -> bytes:
    """Return the next frame of what Firefox says, whose frames are never masked."""
    head = await reader.readexactly(2)
    size = head[1] & MASK
    longer = await reader.readexactly({126: 2, 127: 8}.get(size, 0))
    return _done(head + longer, await reader.readexactly(int.from_bytes(longer) if longer else size))


def _done(head: bytes, body: bytes) -> bytes:
    if b'"unknown command"' not in body or b"emulation.setMediaFeaturesOverride" not in body:
        return head + body
    said = json.dumps({"type": "success", "id": json.loads(body)["id"], "result": {}}).encode()
    assert len(said) < OF_ONE_BYTE
    return head[:1] + bytes([len(said)]) + said


async def _asked(reader: StreamReader, writer: StreamWriter, port: int) -> None:
    head = await reader.readuntil(b"\r\n\r\n")
    writer.write(HOST.sub(b"127.0.0.1:%d" % port, head))
    while some := await reader.read(2**16):
        writer.write(some)
        await writer.drain()
    writer.close()


async def _answered(reader: StreamReader, writer: StreamWriter) -> None:
    writer.write(await reader.readuntil(b"\r\n\r\n"))
    while True:
        writer.write(await _frame(reader))
        await writer.drain()


async def _between(port: int, reader: StreamReader, writer: StreamWriter) -> None:
    """Pass on what is said in both ways until one of the two has gone."""
    said, to_say = await asyncio.open_connection("127.0.0.1", port)
    with suppress(IncompleteReadError, ConnectionError):
        await asyncio.gather(_asked(reader, to_say, port), _answered(said, writer))
    writer.close()


async def _run(*arguments: str) -> int:
    """Start Firefox, tell of a port of our own where it tells of its own, and return its exit code."""
    assert FIREFOX is not None
    started = await asyncio.create_subprocess_exec(FIREFOX, *arguments, stderr=asyncio.subprocess.PIPE)
    assert started.stderr is not None
    async for line in started.stderr:
        told = line
        if found := LISTENING.search(line):
            server = await asyncio.start_server(partial(_between, int(found[0])), "127.0.0.1", 0)
            told = LISTENING.sub(b"%d" % server.sockets[0].getsockname()[1], line)
        sys.stderr.buffer.write(told)
        sys.stderr.flush()
    return await started.wait()


if __name__ == "__main__":
    sys.exit(asyncio.run(_run(*sys.argv[1:])))
