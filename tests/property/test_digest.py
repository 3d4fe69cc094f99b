"""Does the key of a stored result cover everything that can change the result, and no more?"""

from __future__ import annotations

from dataclasses import replace

import pytest

from enginesim.case import Case, loads, write
from enginesim.case.facts import fields_of, walk
from enginesim.case.tree import Case as Tree
from tests.records import case

#: Tables and fields that no simulation reads.
UNREAD = ("name", "notes", "valve_gear", "clearances")


def leaves() -> list[tuple[str, str]]:
    """Dotted attribute of every field of a case, and the table that it is in."""
    return [(path, path.split(".")[0]) for path, spot in walk(Tree) if spot.part is None]


def changed(engine: Case, path: str) -> Case | None:
    """The same case with another value at one place, whatever it means; None if it has no such."""
    names = path.split(".")
    parts = [engine]
    model: type = Tree
    for name in names[:-1]:
        spot = fields_of(model)[name]
        part = getattr(parts[-1], spot.name)
        if part is None:
            return None
        parts.append(part)
        model = spot.part
    attribute = fields_of(model)[names[-1]].name
    value = getattr(parts[-1], attribute)
    new = {attribute: _another(value)}
    for part, name in zip(reversed(parts), reversed(["", *names[:-1]]), strict=True):
        made = replace(part, **new)
        new = {name: made}
    return made


def _another(value: object) -> object:
    match value:
        case bool():
            return not value
        case int() | float():
            return value + 1
        case tuple():
            return (*value, 1.0)
        case None:
            return 0.0  # not the same as nothing at all
        case _:
            return "something else"


@pytest.mark.parametrize("path, table", leaves())
def test_every_value_that_a_simulation_reads_is_in_the_digest(path: str, table: str) -> None:
    other = changed(case(), path)
    if other is None:
        pytest.skip("belongs to a part that this engine does not have")
    assert (other.digest == case().digest) is (table in UNREAD)


def test_the_digest_does_not_depend_on_how_a_case_is_written() -> None:
    text = write(case())
    assert loads(text).digest == case().digest
    inches = text.replace('bore = "100 mm"', 'bore = "0.1 m"').replace("# A case", "# Another")
    assert inches != text
    assert loads(inches).digest == case().digest
    assert loads(text, ("block.bore=100 mm +- 0.1",)).digest == case().digest
    assert loads(text, ("numerics.fidelity=filling",)).digest != case().digest


def test_what_is_not_there_is_not_in_the_digest(monkeypatch: pytest.MonkeyPatch) -> None:
    """So a new field that old cases do not have leaves their stored results where they are."""
    told: list[dict] = []
    monkeypatch.setattr("enginesim.case.tree.digest", lambda values: told.append(values) or "x")
    replace(case(), name="another").digest  # noqa: B018  # asked for its side effect
    (values,) = told
    assert "pin_offset" not in values["block"]  # zero, and never None
    assert values["block"]["bore"] == case().block.bore
    assert None not in [value for part in values.values() for value in part.values()]
