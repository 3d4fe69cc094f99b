"""The case file as a JSON schema, for editors that check TOML while it is typed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from enginesim.base.units import BARE
from enginesim.case.facts import fields_of
from enginesim.case.tree import Case

if TYPE_CHECKING:
    from enginesim.case.facts import Facts, Field, Part

_NUMBER: Final = r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?"
_QUANTITY: Final = rf"^\s*{_NUMBER}([\s,]+{_NUMBER})*\s*[^\s\d].*$"
_INTEGERS: Final = {"type": "array", "items": {"type": "integer", "minimum": 1}}


def schema() -> dict[str, Any]:
    """
    Schema of a case file.

    Returns
    -------
    dict
        JSON schema, draft 2020-12. It knows names, kinds and choices; ranges with units and
        everything between fields are left to `enginesim check`.
    """
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Case of enginesim",
        **_table(Case),
    }


def _table(model: type[Part]) -> dict[str, Any]:
    properties = {key: _property(spot) for key, spot in fields_of(model).items()}
    return {"type": "object", "additionalProperties": False, "properties": properties}


def _property(spot: Field) -> dict[str, Any]:
    facts = spot.facts
    result: dict[str, Any] = {"description": facts.help.replace("``", "`")}
    if spot.part is not None:
        file = {"type": "string", "description": "Name of a part file"}
        return result | {"anyOf": [_table(spot.part), file]}
    if facts.default:
        result["default"] = facts.default
    return result | _kind(spot)


def _kind(spot: Field) -> dict[str, Any]:
    match spot.kind:
        case "choice":
            return {"enum": list(spot.choices)}
        case "switch":
            return {"type": "boolean"}
        case "integer":
            return {
                "type": "integer",
                "minimum": int(spot.facts.low or 0),
                "maximum": int(spot.facts.high or 0),
            }
        case "integers":
            return {"anyOf": [_INTEGERS, {"type": "string"}]}
        case "groups":
            return {"anyOf": [{"type": "array", "items": _INTEGERS}, {"type": "string"}]}
        case "text":
            return {"type": "string"}
        case "pairs":
            pair = {"type": "string", "pattern": "@"}
            return {"anyOf": [pair, {"type": "array", "items": pair}]}
        case kind:
            one = _quantity(spot.facts)
            return (
                {"anyOf": [*one, {"type": "array", "items": {"anyOf": one}}]}
                if (kind == "values")
                else {"anyOf": one}
            )


def _quantity(facts: Facts) -> list[dict[str, Any]]:
    if facts.dimension in BARE:
        return [{"type": "number"}, {"type": "string"}]
    return [{"type": "string", "pattern": _QUANTITY}]
