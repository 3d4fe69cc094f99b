"""From a study to a TOML text that gives the same study again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from enginesim.study.definition import BATCH, POINTS
from enginesim.study.values import Span, Steps, number_text

if TYPE_CHECKING:
    from enginesim.study.definition import Study, Variable


def write(study: Study) -> str:
    """
    TOML text of a study.

    Parameters
    ----------
    study : Study
        Any.

    Returns
    -------
    str
        Text that `reading.loads` turns into an equal study.
    """
    lines = ["# A study of enginesim: sweep or search."]
    top: dict[str, Any] = {
        "name": study.name,
        "notes": study.notes,
        "case": study.case,
        "vehicle": study.vehicle,
        "set": list(study.overrides),
        "rpm": ", ".join(number_text(rpm, "") for rpm in study.speeds),
        "samples": study.samples,
        "points": study.points if study.points != POINTS else 0,
        "batch": study.batch if study.batch != BATCH else 0,
        "seed": study.seed,
        "aim": [aim.text for aim in study.aims],
        "limits": [limit.text for limit in study.constraints],
        "show": [measure.text for measure in study.shown],
    }
    lines += [f"{key} = {_toml(value)}" for key, value in top.items() if value or key == "seed"]
    lines += ["", "[vary]"]
    lines += [f"{_toml(v.name)} = {_toml(_values(v))}" for v in study.variables]
    if study.links:
        lines += ["", "[links]"]
        lines += [f"{_toml(link.target)} = {_toml(link.text)}" for link in study.links]
    for condition in study.conditions:
        lines += ["", f"[conditions.{condition.name}]", f"rpm = {condition.speed!r}"]
        if condition.overrides:
            lines.append(f"set = {_toml(list(condition.overrides))}")
    return "\n".join(lines) + "\n"


def _values(variable: Variable) -> Any:
    values = variable.values
    if isinstance(values, Span | Steps):
        return values.text
    return list(values.items)


def _toml(value: Any) -> str:
    """One TOML value on one line."""
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, list):
        return f"[{', '.join(_toml(item) for item in value)}]"
    return repr(value)


def _text(value: str) -> str:
    """TOML string: JSON's escapes are TOML's too, but for DEL."""
    import json

    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
