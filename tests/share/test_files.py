"""Saving is all or nothing, and what is saved reads back as the same round."""

import inspect
import json
import os
import re
from pathlib import Path

import pytest

from routing import round as round_module
from routing.errors import WriteError
from routing.round import SCHEMA_VERSION, Round
from routing.share.files import round_json, write_all
from routing.share.schema import round_schema
from tests.share.sample import hostile_round, sample_round


@pytest.mark.parametrize("round_", [sample_round(), hostile_round(), sample_round(itineraries=(), left_out=())])
def test_a_saved_round_reads_back_equal_and_saves_the_same(round_: Round) -> None:
    text = round_json(round_)
    again = Round.model_validate_json(text)
    assert again == round_
    assert round_json(Round.model_validate_json(round_json(again))) == round_json(again)
    assert text.endswith("}\n")


def test_the_order_of_the_json_is_that_of_the_types() -> None:
    assert list(json.loads(round_json(sample_round()))) == list(Round.model_fields)


def test_files_are_written_whole_and_nothing_else_is_left(tmp_path: Path) -> None:
    folder = tmp_path / "new" / "folder"
    paths = write_all({"round.json": "{}\n", "map.html": "é\r\n"}, folder)
    assert paths == (folder / "round.json", folder / "map.html")
    assert (folder / "map.html").read_bytes() == "é\r\n".encode()
    assert sorted(path.name for path in folder.iterdir()) == ["map.html", "round.json"]


def test_a_second_writing_replaces_the_first(tmp_path: Path) -> None:
    write_all({"a": "one"}, tmp_path)
    write_all({"a": "two"}, tmp_path)
    assert (tmp_path / "a").read_text() == "two"


def test_a_failure_while_writing_leaves_the_old_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_all({"a": "old a", "b": "old b"}, tmp_path)

    def full(_file: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(WriteError, match="No space left on device; what stood there before still stands"):
        write_all({"a": "new", "b": "new"}, tmp_path)
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == {"a": "old a", "b": "old b"}


def test_a_failure_between_two_moves_puts_the_first_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_all({"a": "old a", "c": "old c"}, tmp_path)
    whole = Path.replace

    def fails_at_c(self: Path, target: Path) -> Path:
        if self.parent.name == "new" and target.name == "c":
            raise OSError(5, "Input/output error")
        return whole(self, target)

    monkeypatch.setattr(Path, "replace", fails_at_c)
    with pytest.raises(WriteError, match="Input/output error"):
        write_all({"a": "new", "b": "new", "c": "new"}, tmp_path)
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == {"a": "old a", "c": "old c"}


def test_a_folder_in_the_place_of_a_file_is_said_before_anything_moves(tmp_path: Path) -> None:
    (tmp_path / "b").mkdir()
    with pytest.raises(WriteError, match="b is a folder"):
        write_all({"a": "new", "b": "new"}, tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["b"]


def test_a_file_in_the_place_of_the_folder_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(WriteError, match="name another folder"):
        write_all({"a": "new"}, tmp_path / "file")


@pytest.mark.parametrize("name", ["", ".", "..", "../a", "a/b", "a\\b", "a\0b"])
def test_only_plain_file_names_are_taken(tmp_path: Path, name: str) -> None:
    with pytest.raises(ValueError, match="not a plain file name"):
        write_all({"ok": "x", name: "x"}, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_link_is_replaced_and_not_followed(tmp_path: Path) -> None:
    (tmp_path / "target").write_text("kept")
    (tmp_path / "a").symlink_to(tmp_path / "target")
    write_all({"a": "new"}, tmp_path)
    assert (tmp_path / "target").read_text() == "kept"
    assert (tmp_path / "a").read_text() == "new"


def test_the_schema_names_its_dialect_and_version_and_no_address_of_its_own() -> None:
    schema = json.loads(round_schema())
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["properties"]["schema_version"]["const"] == SCHEMA_VERSION
    assert "$id" not in round_schema()
    assert round_schema() == round_schema()


def test_the_schema_knows_every_field_that_is_saved() -> None:
    schema = json.loads(round_schema())
    saved = json.loads(round_json(sample_round()))
    assert set(saved) == set(schema["properties"])
    stop = saved["itineraries"][0]["stops"][0]
    assert set(stop) == set(schema["$defs"]["Stop"]["properties"])
    assert {"arrive", "light_left_seconds"} <= set(schema["$defs"]["Stop"]["required"]) <= set(stop)
    assert schema["additionalProperties"] is False


def test_every_docstring_of_a_field_is_in_the_schema() -> None:
    schema = json.loads(round_schema())
    described = schema["$defs"]["Stop"]["properties"]["light_left_seconds"]["description"]
    assert described == "From `finish` to `window_closes`."
    assert "Raised whenever" not in round_schema()  # that one belongs to the constant, not to a field
    source = inspect.getsource(round_module).partition("class FitProof")[0]  # the answer to `fit` is no part of a round
    written = re.findall(r'^    \w+: [^\n]*\n    """(.*?)"""', source, re.MULTILINE | re.DOTALL)
    told = json.dumps(schema, ensure_ascii=False)
    assert len(written) > 15
    for text in written:
        assert json.dumps(" ".join(text.split()), ensure_ascii=False) in told
