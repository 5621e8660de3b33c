"""Every guard on every route: the table of routes is walked, so that a new route is guarded, and tested, or fails here."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from routing.desk.access import ENTRANCE
from routing.desk.app import LATER, every_route, routes_of
from routing.desk.guard import LARGEST_BODY
from tests.desk.served import Served

ROUTES = every_route()
CASES = [
    (method, re.sub(r"\{.*?\}", "x", route.path))
    for route in ROUTES
    for method in sorted((route.methods or set()) - {"HEAD"})
]
CHANGES = [path for method, path in CASES if method == "POST"]
GUARDED = [case for case in CASES if case[1] != ENTRANCE]


def test_a_route_either_shows_or_changes() -> None:
    assert len(CASES) == len(set(CASES)) == len(ROUTES)
    assert {method for method, _ in CASES} == {"GET", "POST"}


@pytest.mark.parametrize("name", LATER)
def test_a_view_that_is_imported_later_has_no_path_but_under_its_own(name: str) -> None:
    assert {route.path.split("/")[1] for route in routes_of(name)} == {name}


def test_every_route_is_named_in_a_test() -> None:
    """What a view does is tested beside it: each path, up to what varies in it, stands in a test's text."""
    texts = "\n".join(path.read_text(encoding="utf-8") for path in Path(__file__).parent.glob("test_*.py"))
    paths = {route.path.partition("{")[0] for route in ROUTES}
    assert [path for path in sorted(paths) if not re.search(rf'"{re.escape(path)}(["?]|x|[a-z_]+\.)', texts)] == []


@pytest.mark.parametrize(("method", "path"), CASES)
@pytest.mark.parametrize(
    "host",
    [None, "localhost:{port}", "127.0.0.1", "127.0.0.1:1", "evil.example:{port}", "127.0.0.1:{port}.evil.example"],
)
def test_only_the_desks_own_address_is_answered(example_desk: Served, method: str, path: str, host: str | None) -> None:
    """Source: RFC 9110, 15.5.20; another name may be made to lead to this machine (DNS rebinding)."""
    named = host and host.format(port=example_desk.port)
    assert example_desk.ask(method, path, host=named).status in ({421} if host else {400, 421})


@pytest.mark.parametrize(("method", "path"), GUARDED)
def test_nothing_is_given_without_the_cookie(example_desk: Served, method: str, path: str) -> None:
    name = example_desk.desk.access.cookie_name
    for cookie in (None, "", f"{name}=", f"{name}=wrong", example_desk.cookie.replace(name, "desk-1")):
        assert example_desk.ask(method, path, cookie=cookie).status == 401


@pytest.mark.parametrize(("method", "path"), GUARDED)
def test_nothing_is_given_to_another_site_even_with_the_cookie(example_desk: Served, method: str, path: str) -> None:
    """A page on another port of this machine is of the same site: its requests carry the cookie. Source: RFC 6265bis."""
    for site in ("cross-site", "same-site"):
        assert example_desk.ask(method, path, sec_fetch_site=site).status == 403
    for origin in ("null", "http://127.0.0.1:1", "https://evil.example", example_desk.desk.access.origin + "0"):
        assert example_desk.ask(method, path, origin=origin).status == 403


@pytest.mark.parametrize("path", CHANGES)
def test_a_change_needs_the_desks_own_page_and_json_of_fitting_size(example_desk: Served, path: str) -> None:
    ask = example_desk.ask
    assert ask("POST", path, origin=None).status == 403
    assert ask("POST", path, sec_fetch_site="none").status == 403
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data", ""):
        assert ask("POST", path, b"{}", content_type=kind).status == 415
    assert ask("POST", path, content_length=str(LARGEST_BODY + 1)).status == 413
    assert ask("POST", path, b"not JSON").status == 400
    assert ask("POST", path, b"[1]").status == 400
    assert ask("POST", path, b"[" * 100_000).status == 400


def test_a_body_that_grows_past_the_limit_is_refused_whatever_it_said(example_desk: Served) -> None:
    """Sent in chunks no length is told. Source: RFC 9112, 7.1."""
    chunk = b"100000\r\n" + b" " * 0x100000 + b"\r\n"
    body = chunk * (LARGEST_BODY // 0x100000 + 1) + b"0\r\n\r\n"
    found = example_desk.ask("POST", "/start/open", body, content_length=None, transfer_encoding="chunked")
    assert found.status == 413


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_no_other_kind_of_request_is_known(example_desk: Served, method: str) -> None:
    """No leave for another origin's page is given either (no CORS): a preflight fails."""
    found = example_desk.ask(method, "/tomorrow", origin="https://evil.example", content_length="0")
    assert found.status == 405
    assert not any(name.startswith("access-control") for name in found.headers)


@pytest.mark.parametrize(("method", "path"), CASES)
def test_every_answer_has_the_headers_that_keep_other_pages_out(example_desk: Served, method: str, path: str) -> None:
    for found in (example_desk.ask(method, path), example_desk.ask(method, path, cookie=None)):
        assert "unsafe" not in found.headers["content-security-policy"]
        assert "default-src 'none'" in found.headers["content-security-policy"]
        assert "frame-ancestors 'self'" in found.headers["content-security-policy"]
        assert found.headers["x-content-type-options"] == "nosniff"
        assert found.headers["cross-origin-resource-policy"] == "same-origin"
        assert found.headers["referrer-policy"] == "no-referrer"
        assert "server" not in found.headers


def test_a_page_of_another_farm_changes_nothing(example_desk: Served) -> None:
    """Whatever needs no open farm may be asked from any page; all else is refused."""
    free = {"/start/open", "/close", "/begin/new", "/begin/example"}
    for path in CHANGES:
        if path not in free:
            found = example_desk.post(path, desk_farm="0" * 16)
            assert found.status == 409, path
            assert "Another farm" in found.json["lines"][0]


def test_a_fault_of_the_program_is_told_in_a_sentence_behind_the_guard(
    own_desk: Served, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    """No traceback is shown or printed: it would hold what was read."""

    def breaks(*_args: object) -> None:
        raise ZeroDivisionError("gate code 4711")

    monkeypatch.setattr("routing.stages.written.written_plan", breaks)
    monkeypatch.setattr(own_desk.desk, "leave", breaks)
    shown, changed = own_desk.get("/tomorrow"), own_desk.post("/close")
    assert (shown.status, changed.status) == (500, 500)
    assert "The program met a fault of its own (ZeroDivisionError)" in shown.text
    assert "ZeroDivisionError" in changed.json["lines"][0]
    assert "4711" not in shown.text + changed.text + "".join(capfd.readouterr())
    assert "default-src 'none'" in shown.headers["content-security-policy"]
