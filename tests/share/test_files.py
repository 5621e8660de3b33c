"""What is saved reads back as the same round, and the schema describes it."""

import inspect
import json
import re

import pytest

from routing.round import SCHEMA_VERSION, Round, left_out, numbers, quality, stops
from routing.round import round as plan
from routing.share.exports.files import round_json
from routing.share.exports.schema import round_schema
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
    modules = (left_out, numbers, plan, quality, stops)  # the answer to `fit` is no part of a round
    source = "\n".join(map(inspect.getsource, modules))
    written = re.findall(r'^    \w+: [^\n]*\n    """(.*?)"""', source, re.MULTILINE | re.DOTALL)
    told = json.dumps(schema, ensure_ascii=False)
    assert len(written) > 15
    for text in written:
        assert json.dumps(" ".join(text.split()), ensure_ascii=False) in told
