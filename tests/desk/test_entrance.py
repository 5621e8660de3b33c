"""How a browser is let in: once, by a key that stands in a file for its owner alone, then by a cookie of this desk."""

from __future__ import annotations

import http.client
import os
import re
import signal
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from routing.desk.access import ENTRANCE, Access
from routing.desk.start import _leading_file
from tests.conftest import HOLLIN_VALE
from tests.desk.served import Served, served


def test_the_key_is_taken_once() -> None:
    access = Access(4711)
    key = access.entrance.partition("key=")[2]
    assert access.take_key("") is None
    assert access.take_key(key + "x") is None
    cookie = access.take_key(key)
    assert cookie is not None
    assert re.fullmatch(r"desk-4711=[\w-]{43}; Path=/; HttpOnly; SameSite=Strict", cookie)
    assert access.take_key(key) is None
    assert key not in cookie
    assert access.knows(f"other=1; {cookie.partition(';')[0]}")


def test_no_two_desks_have_a_key_or_a_cookie_in_common() -> None:
    assert Access(1).entrance != Access(1).entrance
    one, other = Access(1), Access(1)
    cookie = one.take_key(one.entrance.partition("key=")[2])
    assert cookie is not None
    assert not other.knows(cookie.partition(";")[0])


def test_the_file_that_leads_in_is_its_owners_alone_and_goes() -> None:
    with _leading_file("http://127.0.0.1:1/enter?key=a&b") as file:
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
        assert stat.S_IMODE(file.parent.stat().st_mode) == 0o700
        assert "key=a&amp;b" in file.read_text(encoding="utf-8")
    assert not file.parent.exists()


def test_a_browser_comes_in_by_the_file_once(browser: Browser, tmp_path: Path) -> None:
    """The cookie is Strict and comes by way of a file, which counts as another site: it must be there all the same."""
    with served(HOLLIN_VALE, tmp_path, let_in=False) as desk:
        access = desk.desk.access
        context = browser.new_context()
        with _leading_file(access.entrance) as file:
            page = context.new_page()
            page.goto(file.as_uri())
            page.wait_for_url("**/tomorrow")
            assert page.locator("h1").inner_text().startswith("Round for ")
            cookie = context.cookies()[0]
            assert (cookie["sameSite"], cookie["httpOnly"], cookie["expires"]) == ("Strict", True, -1)
            assert page.evaluate("document.cookie") == ""
            stranger = browser.new_context().new_page()
            assert stranger.goto(access.entrance).status == 403  # type: ignore[union-attr]
            assert stranger.goto(access.origin + "/tomorrow").status == 401  # type: ignore[union-attr]
            stranger.context.close()
        context.close()


def test_no_key_is_no_way_in(example_desk: Served) -> None:
    for path in (ENTRANCE, "/enter", "/enter?key=", "/enter?key=x", "/enter?key=" + "x" * 5000):
        assert example_desk.get(path, cookie=None).status in {403, 422}
        assert "set-cookie" not in example_desk.get(path, cookie=None).headers


FIRST_PAGE = """
import asyncio, sys
from pathlib import Path
import routing.cli.desk
from routing.desk import start, serve
from routing.desk.access import Access
from routing.desk.app import application
from routing.desk.recent import Recent
from routing.desk.state import Desk
desk = Desk(Access(1), Recent(Path(sys.argv[2]) / "farms.json"))
desk.open(Path(sys.argv[1]))
cookie = desk.access.take_key(desk.access.entrance.partition("key=")[2]).partition(";")[0]
headers = [(b"host", b"127.0.0.1:1"), (b"cookie", cookie.encode())]
async def receive(): return {"type": "http.request", "body": b""}
async def send(message): sent.append(message)
sent = []
path = ("/tomorrow", b"on=2026-12-10")
scope = {"type": "http", "method": "GET", "path": path[0], "raw_path": b"", "query_string": path[1], "headers": headers}
asyncio.run(application(desk)(scope, receive, send))
assert sent[0]["status"] == 200, sent
assert b"7 of 8 musts before dark" in sent[1]["body"]
print(*sorted(sys.modules))
"""


def test_the_first_page_is_shown_without_planner_map_or_arrays(example_desk: Served, tmp_path: Path) -> None:
    """So it is there within two seconds; how long it takes is measured in the benchmarks."""
    done = subprocess.run(
        [sys.executable, "-c", FIRST_PAGE, str(example_desk.desk.folder), str(tmp_path)],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    loaded = set(done.stdout.split())
    assert "routing.desk.views.tomorrow" in loaded
    heavy = {"ortools", "pyvrp", "vroom", "numba", "numpy", "pandas", "folium", "valhalla", "osmium", "sqlalchemy"}
    assert not loaded & heavy
    assert not any(name.startswith(("routing.planning", "routing.check")) for name in loaded)


@pytest.mark.clock
def test_the_command_prints_the_address_serves_and_ends_with_ctrl_c(tmp_path: Path) -> None:
    """Alone on its machine: the address is one of 127.0.0.1, and Ctrl-C is the usual way out."""
    command = [sys.executable, "-m", "routing", "open", str(HOLLIN_VALE), "--no-browser"]
    env = {**os.environ, "XDG_STATE_HOME": str(tmp_path), "PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=env) as running:
        assert running.stdout is not None
        address = running.stdout.readline().split()[-1]
        assert address.startswith("http://127.0.0.1:")
        connection = http.client.HTTPConnection(address.split("/")[2], timeout=60)
        connection.request("GET", "/" + address.split("/", 3)[3])
        assert "Go on to the desk" in connection.getresponse().read().decode()
        connection.close()
        running.send_signal(signal.SIGINT)
        rest = running.stdout.read()
    assert running.returncode == 0
    assert rest.splitlines()[-1] == "The desk is closed."
    assert str(HOLLIN_VALE.resolve()) in (tmp_path / "outyard" / "farms.json").read_text(encoding="utf-8")
