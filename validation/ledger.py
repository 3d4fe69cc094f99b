"""What did each check find when it last ran?

Kept beside the check in `found.json`, so that the table can be written after one check alone has
run again, and says which rows are older than the program.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path

from enginesim import __version__
from enginesim.base.provenance import PHYSICS_VERSION
from enginesim.report.files import write
from validation.judgement import Row


@dataclass(frozen=True)
class Entry:
    """Rows of one check, and when and with what they were found."""

    rows: tuple[Row, ...]
    version: str
    physics: int
    date: str
    seconds: float

    @property
    def is_stale(self) -> bool:
        """Whether results have changed on purpose since."""
        return self.physics != PHYSICS_VERSION


def entry(rows: Sequence[Row], seconds: float) -> Entry:
    """Rows found now."""
    return Entry(tuple(rows), __version__, PHYSICS_VERSION, date.today().isoformat(), seconds)


def load(folder: Path) -> Entry | None:
    """What a folder's check found last, or None if it never ran."""
    try:
        kept = json.loads((folder / "found.json").read_text("utf-8"))
    except FileNotFoundError:
        return None
    return Entry(
        tuple(Row(**row) for row in kept["rows"]),
        kept["version"],
        kept["physics"],
        kept["date"],
        kept["seconds"],
    )


def save(folder: Path, found: Entry) -> None:
    """Keep it, whole or not at all."""
    kept = asdict(found) | {"seconds": round(found.seconds, 1)}
    text = json.dumps(kept, indent=1, ensure_ascii=False, allow_nan=False)
    write(folder / "found.json", text + "\n")
