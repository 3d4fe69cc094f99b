"""From a case to a commented TOML text that gives the same case again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from enginesim.case.facts import fields_of
from enginesim.case.text import plain
from enginesim.case.tree import Case

if TYPE_CHECKING:
    from collections.abc import Iterator

    from enginesim.case.facts import Field, Part
    from enginesim.case.tree import Assumed

_TITLE = """\
# A case of enginesim. Values in quotes carry their unit; a band may follow: "0.480 in +- 0.005".
# Lines that begin with "#" show what is assumed: take away the mark to give a value of your own.
"""


def write(case: Case) -> str:
    """
    TOML text of a case: what was given, and every default as a comment.

    Parameters
    ----------
    case : Case
        Any.

    Returns
    -------
    str
        Text that `loads` turns into an equal case. Part files are written out in place.
    """
    assumed = {item.path: item for item in case.assumed}
    lines = [_TITLE]
    lines += _table(Case, "", case, assumed)
    return "\n".join(lines).rstrip() + "\n"


def _table(
    model: type[Part], prefix: str, case: Case, assumed: dict[str, Assumed]
) -> Iterator[str]:
    fields = fields_of(model)
    for key, spot in fields.items():
        path = f"{prefix}{key}"
        if spot.part is None:
            yield from _lines(spot, path, case, assumed)
    for key, spot in fields.items():
        if spot.part is None:
            continue
        path = f"{prefix}{key}"
        inner = list(_table(spot.part, f"{path}.", case, assumed))
        if any(inner):
            yield ""
            yield f"# {spot.facts.help}."
            yield f"[{path}]"
            yield from inner


def _lines(spot: Field, path: str, case: Case, assumed: dict[str, Assumed]) -> Iterator[str]:
    note = assumed.get(path)
    if path in case.given:
        yield f"{_pair(spot.key, case.given[path])}  # {plain(spot.facts.help)}"
        if note is not None:
            yield f"#   assumed: {note.value} ({_source(note)})"
    elif note is not None:
        yield f"# {_pair(spot.key, _bare(spot, note.value))}  # {plain(spot.facts.help)} " + (
            f"[{_source(note)}]"
        )


def _bare(spot: Field, text: str) -> Any:
    """Value as TOML would have it: numbers without a unit and switches without quotes."""
    if spot.kind == "switch":
        return text == "true"
    if spot.kind == "integer":
        return int(text)
    try:
        return float(text) if spot.kind == "value" else text
    except ValueError:
        return text


def _source(note: Assumed) -> str:
    text = note.source or "follows from other fields"
    return f"{text}; 1 sigma {note.band}" if note.band else text


def _pair(key: str, value: Any) -> str:
    import tomli_w

    return tomli_w.dumps({key: value}).strip()
