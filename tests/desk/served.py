"""A desk that is served in this process, asked by plain requests and by a browser that reaches no other host."""

from __future__ import annotations

import http.client
import json
import socket
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from threading import Thread
from typing import Any

import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page, Route

from routing.desk.access import Access
from routing.desk.recent import Recent
from routing.desk.serve import config
from routing.desk.state import Desk


@dataclass(frozen=True)
class Reply:
    """What the desk answered."""

    status: int
    headers: Mapping[str, str]
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode()

    @property
    def json(self) -> Any:
        return json.loads(self.body)


@dataclass(frozen=True)
class Served:
    """A desk at work, and a cookie that it knows."""

    desk: Desk
    cookie: str

    @property
    def port(self) -> int:
        return int(self.desk.access.host.rpartition(":")[2])

    def ask(self, method: str, path: str, body: bytes = b"", /, **headers: str | None) -> Reply:
        """Send a request as the desk's own page would; a header given as None is left out, `_` stands for `-`."""
        access = self.desk.access
        own: dict[str, str | None] = {"host": access.host, "cookie": self.cookie, "sec-fetch-site": "same-origin"}
        if method == "POST":
            own |= {"origin": access.origin, "content-type": "application/json", "desk-farm": self.desk.mark}
            own |= {"content-length": str(len(body))}
        given = own | {name.replace("_", "-"): value for name, value in headers.items()}
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
        for name, value in given.items():
            if value is not None:
                connection.putheader(name, value)
        connection.endheaders(body)
        answer = connection.getresponse()
        found = Reply(answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read())
        connection.close()
        return found

    def get(self, path: str, **headers: str | None) -> Reply:
        return self.ask("GET", path, b"", **headers)

    def post(self, path: str, fields: object = None, **headers: str | None) -> Reply:
        body = json.dumps({} if fields is None else fields).encode()
        return self.ask("POST", path, body, **headers)

    @contextmanager
    def opened(self, browser: Browser, width: int = 1280, **options: Any) -> Iterator[Opened]:
        """Give pages of a browser that is let in; any trouble in it is told at the end."""
        context = browser.new_context(viewport={"width": width, "height": 900}, **options)
        name, _, value = self.cookie.partition("=")
        context.add_cookies(
            [{"name": name, "value": value, "domain": "127.0.0.1", "path": "/", "httpOnly": True, "sameSite": "Strict"}]
        )
        opened = Opened(self, context, [])
        try:
            yield opened
        finally:
            context.close()
        assert opened.troubles == []


@dataclass
class Opened:
    """A browser at the desk; requests to other hosts are stopped, and told as trouble as what its console says is."""

    served: Served
    context: BrowserContext
    troubles: list[str]

    def page(self, path: str) -> Page:
        page = self.context.new_page()
        page.set_default_timeout(30_000)
        page.route("**/*", self._routed)
        page.on("console", lambda message: self.troubles.append(f"{message.type}: {message.text}"))
        page.on("pageerror", lambda error: self.troubles.append(f"error: {error}"))
        page.on("dialog", lambda dialog: self.troubles.append(f"dialog: {dialog.message}"))
        page.goto(self.served.desk.access.origin + path)
        page.wait_for_load_state("load")
        return page

    def _routed(self, route: Route) -> None:
        url = route.request.url
        if url.startswith((self.served.desk.access.origin + "/", "data:", "blob:")):
            route.continue_()
        else:
            self.troubles.append(f"request: {url}")
            route.abort()


@contextmanager
def served(folder: Path | None, keep: Path, *, let_in: bool = True) -> Iterator[Served]:
    """Serve a desk with the farm of a folder open; what it remembers of farms is kept in `keep`.

    Where nobody is let in, the key is left for the test.
    """
    with socket.create_server(("127.0.0.1", 0), backlog=64) as listening:
        desk = Desk(Access(listening.getsockname()[1]), Recent(keep / "farms.json"))
        if folder is not None:
            desk.open(folder)
        server = uvicorn.Server(config(desk))
        thread = Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        cookie = desk.access.take_key(desk.access.entrance.partition("key=")[2]) if let_in else ""
        assert cookie is not None
        try:
            yield Served(desk, cookie.partition(";")[0])
        finally:
            server.should_exit = True
            thread.join(10)
            assert not thread.is_alive()
