"""The pages made from the fields are those in the repository, and the schema fits the case."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from enginesim.case.facts import walk
from enginesim.case.manual import manual
from enginesim.case.schema import schema
from enginesim.case.tree import Case
from tests.unit.case.engines import table

DOCS = Path(__file__).parents[3] / "docs"


def test_the_page_is_current() -> None:
    # If not: python -m enginesim.case.manual docs
    assert (DOCS / "case.md").read_text("utf-8") == manual()


def test_the_schema_is_current() -> None:
    assert json.loads((DOCS / "case.schema.json").read_text("utf-8")) == schema()


def test_the_page_has_every_field() -> None:
    page = manual()
    for path, spot in walk(Case):
        if spot.part is None:
            assert f"| `{path.rpartition('.')[2]}` |" in page


def fits(value: Any, rule: dict[str, Any]) -> bool:
    """The few words of JSON schema that ours uses."""
    if "anyOf" in rule:
        return any(fits(value, arm) for arm in rule["anyOf"])
    if "enum" in rule:
        return value in rule["enum"]
    match rule["type"]:
        case "object":
            return isinstance(value, dict) and all(
                key in rule["properties"] and fits(item, rule["properties"][key])
                for key, item in value.items()
            )
        case "string":
            return isinstance(value, str) and bool(re.search(rule.get("pattern", ""), value))
        case "array":
            return isinstance(value, list) and all(fits(item, rule["items"]) for item in value)
        case "number":
            return isinstance(value, int | float)
        case "integer":
            return isinstance(value, int)
        case other:
            return other == "boolean" and isinstance(value, bool)


def test_the_schema_takes_the_smallest_case_and_not_a_slip() -> None:
    case = table()
    assert fits(case, schema())
    case["block"]["bore"] = 4.0
    assert not fits(case, schema())
    assert not fits({"blok": {}}, schema())
    assert not fits({"fuel": {"name": "paraffin"}}, schema())
