"""What does the folder of one check hold?

`source.toml`: a table for each source. `check.toml`: title, question, the order of its place in
the table, and under `limits` one table for each measure. `check.py`: what is run, see
:class:`Check`. `notes.md`: where it disagrees and what we think the cause is. Data and case files
as the check needs them.
"""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from validation.judgement import EvidenceError, Limit, Row, judge, judge_points

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from enginesim.case import Case

ROOT = Path(__file__).resolve().parent
Samples = NDArray[np.float64]
Found = Mapping[Any, Any]


class Check(Protocol):
    """What `check.py` of a folder defines."""

    def tasks(self, fast: bool) -> Sequence[Hashable]:
        """Small values that can be sent to another process; few and quick ones if `fast`."""
        ...

    def work(self, task: Any) -> Any:
        """One task done, in a process of its own; what it gives back can be sent too."""
        ...

    def rows(self, folder: Folder, found: Found) -> list[Row]:
        """Rows of the table from what all tasks gave, made by `folder.row` and `folder.points`."""
        ...

    def figure(self, folder: Folder, found: Found) -> Figure:
        """Chart of what was found, of the whole set of tasks."""
        ...

    # Where others are to build on what was found, `table(folder, found) -> str` too: it is kept as
    # `result.csv`.


@dataclass(frozen=True)
class Source:
    """Where expected values come from."""

    key: str
    author: str
    title: str
    year: str
    where: str
    how: str

    @classmethod
    def read(cls, key: str, table: Mapping[str, Any]) -> Source:
        """Source as `source.toml` has it."""
        known = ("author", "title", "year", "where", "how")
        missing = [k for k in ("author", "title", "how") if not str(table.get(k, "")).strip()]
        if missing or set(table) - set(known):
            raise EvidenceError(
                f"{key}: {missing} wanted, {sorted(set(table) - set(known))} unknown"
            )
        return cls(key, **{k: str(table.get(k, "")) for k in known})

    @property
    def short(self) -> str:
        """Author and year for a table."""
        return f"{self.author} {self.year}".strip()

    def in_words(self) -> str:
        """The whole reference."""
        parts = [f"{self.author}, *{self.title}*", self.year, self.where]
        return ", ".join(p for p in parts if p) + f". {self.how}"


@dataclass(frozen=True)
class Folder:
    """One check: its texts, sources and limits."""

    name: str
    title: str
    question: str
    order: float
    sources: Mapping[str, Source]
    limits: Mapping[str, Limit]

    @property
    def path(self) -> Path:
        """The folder itself."""
        return ROOT / self.name

    @property
    def check(self) -> Check:
        """What it runs."""
        return cast("Check", import_module(f"validation.{self.name}.check"))

    def limit(self, measure: str) -> Limit:
        """Limit of a measure."""
        if measure not in self.limits:
            raise EvidenceError(f"{self.name}: check.toml has no limit for {measure!r}")
        return self.limits[measure]

    def row(
        self, measure: str, found: float, expected: float | None = None, *, of: str = ""
    ) -> Row:
        """Row for one value, in the unit of the limit; `of` says which where there are several."""
        return judge(self.name, measure, self.limit(measure), found, expected, of)

    def points(
        self,
        measure: str,
        places: Sequence[str],
        found: ArrayLike,
        expected: ArrayLike | None = None,
        *,
        of: str = "",
    ) -> Row:
        """Row for many values of one kind; each has to be inside, or the limit's share of them."""
        return judge_points(self.name, measure, self.limit(measure), found, expected, places, of)

    def data(self, name: str = "data.csv") -> dict[str, Samples]:
        """Columns of a file of numbers; lines that begin with # say where they come from."""
        with (self.path / name).open(encoding="utf-8", newline="") as file:
            lines = csv.DictReader(line for line in file if not line.startswith("#"))
            table = list(lines)
        return {
            head: np.array([float(line[head]) for line in table]) for head in lines.fieldnames or ()
        }

    def case(self, name: str = "case.toml", changes: Sequence[str] = ()) -> Case:
        """A case file of the folder, with changes as ``--set`` writes them."""
        from enginesim.case import load

        return load(self.path / name, tuple(changes))


def read(name: str) -> Folder:
    """Folder of a name, checked for what it must have."""
    path = ROOT / name
    with (path / "check.toml").open("rb") as file:
        check = tomllib.load(file)
    with (path / "source.toml").open("rb") as file:
        sources = {key: Source.read(f"{name}: {key}", t) for key, t in tomllib.load(file).items()}
    unknown = set(check) - {"title", "question", "order", "limits"}
    if unknown:
        raise EvidenceError(f"{name}/check.toml: {sorted(unknown)} unknown")
    limits = {
        key: Limit.read(f"{name}/check.toml: {key}", table)
        for key, table in check["limits"].items()
    }
    for key, limit in limits.items():
        if limit.source not in sources:
            raise EvidenceError(f"{name}/check.toml: {key}: no source {limit.source!r}")
    return Folder(name, check["title"], check["question"], float(check["order"]), sources, limits)


def every() -> list[Folder]:
    """All checks in the order of the table."""
    names = [path.parent.name for path in ROOT.glob("*/check.toml")]
    return sorted((read(name) for name in names), key=lambda folder: (folder.order, folder.name))
