"""The glossary of results as a page, made from the fields themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from enginesim.base.quantity import quantities
from enginesim.cycle.record import CycleRecord
from enginesim.performance import Performance
from enginesim.report.units import file_keys

if TYPE_CHECKING:
    from collections.abc import Iterator

_INTRODUCTION: Final = """\
# Glossary of results

<!-- Made from the fields by `enginesim.report.glossary`; change them, then this page with
`python -m enginesim.report.glossary docs`. -->

What each number of a result means. The relations between them are in
[results](theory/results.md). In Python all are SI, angles in radians, and asked for by attribute or
by name: `performance.torque`, `performance["torque"]`, `curve["torque"]`, `record["pressure"]`. An
unknown name is answered with the nearest known one.
"""

_PERFORMANCE: Final = """\
## Performance at one speed

`enginesim.summarise` makes it of a record. The last column is the key under which `enginesim run`
writes the number, with its unit at the end, into JSON and CSV; what is no number there is `null` or
empty.
"""

_RECORD: Final = """\
## Record of one cycle

`enginesim.simulate` makes it. Channels are sampled by degrees over the two turns of the last
cycle; `record.of_cylinder("pressure", 0)` turns one into the cylinder's own time. The valve lifts
and areas are there unless left out, the ducts only where traces were asked for.
"""


def glossary() -> str:
    """
    The page.

    Returns
    -------
    str
        Markdown.
    """
    return "\n".join(_lines()) + "\n"


def _lines() -> Iterator[str]:
    yield _INTRODUCTION
    yield _PERFORMANCE
    keys = {field: key for key, field, _ in file_keys()}
    yield "| Name | Unit | Definition | In files |"
    yield "|---|---|---|---|"
    for name, meaning in quantities(Performance).items():
        yield f"| `{name}` | {meaning.unit} | {meaning.definition} | `{keys[name]}` |"
    yield ""
    yield _RECORD
    yield "| Name | Unit | Axes | Definition |"
    yield "|---|---|---|---|"
    for name, meaning in quantities(CycleRecord).items():
        yield f"| `{name}` | {meaning.unit} | {meaning.shape} | {meaning.definition} |"


if __name__ == "__main__":
    import sys
    from pathlib import Path

    (Path(sys.argv[1]) / "glossary.md").write_text(glossary(), encoding="utf-8")
