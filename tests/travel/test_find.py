"""Places found by name: in the farm's own map with no network, and asked of a service only when told to."""

from __future__ import annotations

import json
import shutil
import socket
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from threading import Thread
from typing import ClassVar
from urllib.parse import parse_qs, urlsplit

import pytest
from typer.testing import CliRunner

from routing.cli.app import app
from routing.farm.folder import read_farm
from routing.farm.models import Place
from routing.stages.find import found
from routing.travel.named import Named, folded, search
from routing.travel.roads.place_names import place_names
from tests.conftest import HOLLIN_VALE

HERE = Place(latitude=52, longitude=-3)
BAD_ANSWERS = (
    b"",
    b"<html>",
    b"{}",
    b'[{"lat": "x", "lon": "1", "display_name": "a"}]',
    b'[{"lat": "95", "lon": "1", "display_name": "a"}]',
)


def _named(name: str, kind: str, north: float = 52.0) -> Named:
    return Named(name, kind, Place(latitude=north, longitude=-3))


def test_accents_case_and_marks_do_not_count() -> None:
    assert folded("Ty'n-y-Coed, Bl\u00e1th") == "tyn y coed blath"
    assert search([_named("Ty'n-y-Coed", "farm")], "TYN Y", HERE)
    assert search([_named("St. Mary's", "church")], "rys", HERE) == []
    assert search([_named("St. Mary's", "church")], "st marys", HERE)
    assert search([_named("Oak", "farm")], " .,- ", HERE) == []


def test_a_whole_name_comes_before_a_beginning_and_the_nearest_of_alike_first() -> None:
    names = [
        _named("Oak Lane", "street"), _named("Upper Oak", "farm"), _named("Oak", "village", 53), _named("Oak", "village"),
    ]  # fmt: skip
    order = [(one.name, one.place.latitude) for one in search(names, "oak", HERE)]
    assert order == [("Oak", 52.0), ("Oak", 53.0), ("Oak Lane", 52.0), ("Upper Oak", 52.0)]


def test_the_maps_own_names_are_found_and_read_from_the_cache_the_next_time(monkeypatch: pytest.MonkeyPatch) -> None:
    path = HOLLIN_VALE / "hollin-vale.osm.pbf"
    names = place_names(path)
    assert len({one.kind for one in names}) > 2
    monkeypatch.setattr("routing.travel.roads.place_names._read", None)
    assert place_names(path) == names
    farm = read_farm(HOLLIN_VALE)
    for one in names[:40]:
        assert one in found(farm, one.name) or len(found(farm, one.name)) >= 20


class _Service(BaseHTTPRequestHandler):
    """Answers as Nominatim's search does: a list with `lat`, `lon` and `display_name`.

    Source: Nominatim manual, Search queries, JSON (https://nominatim.org/release-docs/latest/api/Search/).
    """

    asked: ClassVar[list[tuple[dict[str, list[str]], str]]] = []
    answer: ClassVar[bytes] = b""

    def do_GET(self) -> None:
        self.asked.append((parse_qs(urlsplit(self.path).query), self.headers["User-Agent"]))
        self.send_response(200)
        self.send_header("content-type", "application/json")
        self.end_headers()
        self.wfile.write(self.answer)

    def log_message(self, *_told: object) -> None: ...


@pytest.fixture
def service() -> Iterator[str]:
    _Service.asked.clear()
    _Service.answer = json.dumps([{"lat": "52.25", "lon": "-2.9", "display_name": "Upper\x1b Oak\nFarm"}]).encode()
    server = HTTPServer(("127.0.0.1", 0), _Service)
    thread = Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    server.server_close()
    thread.join()


def _farm(to: Path, find: str) -> Path:
    shutil.copytree(HOLLIN_VALE, to, ignore=shutil.ignore_patterns("rounds"))
    text = (to / "farm.toml").read_text()
    (to / "farm.toml").write_text(f"{text}\n{find}\n")
    return to


def test_a_service_is_sent_the_words_alone_and_asked_once(tmp_path: Path, service: str) -> None:
    farm = _farm(tmp_path / "farm", f'[find]\nurl = "{service}"\nterms = "be kind"')
    first = CliRunner().invoke(app, ["find", str(farm), "upper", "oak", "--ask"])
    assert first.exit_code == 0, first.output
    assert first.stdout == "52.25000, -2.90000  Upper\\x1b Oak Farm (as the service says)\n"
    assert "Its terms: be kind" in first.stderr
    again = CliRunner().invoke(app, ["find", str(farm), "Upper Oak", "--ask", "--json"])
    assert json.loads(again.stdout)[0]["latitude"] == 52.25
    ((query, agent),) = _Service.asked
    assert query == {"q": ["upper oak"], "format": ["json"], "limit": ["20"]}
    assert agent.startswith("outyard/")
    assert (farm / "found_places.json").stat().st_mode & 0o077 == 0


@pytest.mark.parametrize("answer", BAD_ANSWERS)
def test_what_is_no_answer_is_one_line_and_nothing_is_kept(tmp_path: Path, service: str, answer: bytes) -> None:
    _Service.answer = answer
    farm = _farm(tmp_path / "farm", f'[find]\nurl = "{service}"\nterms = "be kind"')
    told = CliRunner().invoke(app, ["find", str(farm), "oak", "--ask"])
    assert told.exit_code == 2
    assert told.exception is None or isinstance(told.exception, SystemExit)


def test_a_service_that_does_not_answer_is_given_up_in_time(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as silent:
        port = silent.getsockname()[1]
        farm = _farm(tmp_path / "farm", f'[find]\nurl = "http://127.0.0.1:{port}"\nterms = "x"\nseconds = 1')
        told = CliRunner().invoke(app, ["find", str(farm), "oak", "--ask"])
    assert told.exit_code == 2
    assert "no answer from" in told.stderr
    assert not (farm / "found_places.json").exists()


@pytest.mark.parametrize(
    ("find", "fault"),
    [
        ('url = "ftp://x"', "is not an address of the web"),
        ('url = "https://geo.example"', "terms is missing"),
        ('url = "https://u:p@geo.example"\nterms = "x"', "is not an address of the web"),
        ('url = "https://geo.example"\nterms = "x"\nseconds = 0', "seconds"),
        ('address = "x"', "address"),
    ],
)
def test_a_wrong_service_is_a_fault_of_farm_toml(tmp_path: Path, find: str, fault: str) -> None:
    farm = _farm(tmp_path / "farm", f"[find]\n{find}")
    told = CliRunner().invoke(app, ["find", str(farm), "oak"])
    assert told.exit_code == 2
    assert fault in told.stderr


def test_without_a_service_or_a_map_the_way_out_is_told(tmp_path: Path) -> None:
    farm = _farm(tmp_path / "farm", "")
    told = CliRunner().invoke(app, ["find", str(farm), "oak", "--ask"])
    assert (told.exit_code, "names no service to ask" in told.stderr) == (2, True)
    told = CliRunner().invoke(app, ["find", str(farm), "qqqq"])
    assert (told.exit_code, 'nothing here is called "qqqq"' in told.stderr) == (2, True)
    mill = CliRunner().invoke(app, ["find", str(farm), "mill"])
    assert mill.stdout.startswith("52.22050, -2.91050  mill (site)\n")
