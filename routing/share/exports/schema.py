"""The JSON Schema of a saved round, with the types' own docstrings as descriptions."""

from __future__ import annotations

import ast
import inspect
import json
from importlib import import_module
from itertools import pairwise
from pkgutil import iter_modules
from typing import Any

from routing import round as round_package
from routing.round import SCHEMA_VERSION, Round


def round_schema() -> str:
    """Return the schema of what `round_json` writes, as JSON ending with a newline.

    It names its dialect and holds the version as a constant; the address of a home (`$id`) it has none.
    Source of the keywords: JSON Schema, draft 2020-12.
    """
    schema = Round.model_json_schema(mode="serialization")
    docs = _field_docs()
    for definition in (schema, *schema.get("$defs", {}).values()):
        _describe(definition, docs.get(definition["title"], {}))
    schema["properties"]["schema_version"]["const"] = SCHEMA_VERSION
    whole = {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
    return json.dumps(whole, indent=2, ensure_ascii=False) + "\n"


def _describe(definition: dict[str, Any], docs: dict[str, str]) -> None:
    for name, field in definition.get("properties", {}).items():
        if name in docs:
            field["description"] = docs[name]


def _field_docs() -> dict[str, dict[str, str]]:
    """Return, for each class of the round's modules, the docstring written under each of its fields."""
    modules = (import_module(found.name) for found in iter_modules(round_package.__path__, "routing.round."))
    trees = (ast.parse(inspect.getsource(module)) for module in modules)
    return {node.name: _docs_of(node.body) for tree in trees for node in tree.body if isinstance(node, ast.ClassDef)}


def _docs_of(body: list[ast.stmt]) -> dict[str, str]:
    docs: dict[str, str] = {}
    for field, after in pairwise(body):
        match field, after:
            case ast.AnnAssign(target=ast.Name(id=name)), ast.Expr(value=ast.Constant(value=str(text))):
                docs[name] = " ".join(text.split())
    return docs
