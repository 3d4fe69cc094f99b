"""The reference of the vehicle file as a page, made from the fields themselves."""

from __future__ import annotations

from typing import Final

from enginesim.case.manual import tables
from enginesim.vehicle.tree import Vehicle

_INTRODUCTION: Final = """\
# The vehicle file

<!-- Made from the fields by `enginesim.vehicle.manual`; change them, then this page with
`python -m enginesim.vehicle.manual docs`. -->

A TOML file, read like a [case](case.md): values carry their units, bands follow `+-`, all that is
wrong is said at once. **Needed** are the mass, a drag area, a tyre, the gears and the axle; all
else has a default with a source. `cases/vehicles/estate.toml` is an invented one.
"""


def manual() -> str:
    """
    Page of the manual.

    Returns
    -------
    str
        Markdown; one table of fields for each table of the file.
    """
    return "\n".join([_INTRODUCTION, *tables(Vehicle)]).rstrip() + "\n"


if __name__ == "__main__":
    import sys
    from pathlib import Path

    (Path(sys.argv[1]) / "vehicle-file.md").write_text(manual(), encoding="utf-8")
