"""Torque of two engines at three speeds, one banded value after the other moved."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.figure import Figure

from validation.assumptions.bands import banded, moved
from validation.drawing import BLUE, GREY, SKY, VERMILLION, label, panels
from validation.engines import engine
from validation.folder import Folder, Found
from validation.judgement import Row

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.cycle.record import CycleRecord

SPEEDS = {"lake-boat-v8": (2500.0, 4000.0, 5500.0), "hill-climb-four": (3500.0, 5500.0, 7000.0)}
#: Differences are sought, and the same error stays in both: coarser cells than by default move them
#: by less than 0.1 %, and cycles need not run quite to rest.
NUMERICS = (
    "numerics.cell_size=40 mm",
    "numerics.cfl=0.9",
    "numerics.bmep_tolerance=400 Pa",
    "numerics.imbalance_tolerance=2e-4",
    "numerics.max_cycles=60",
)
#: Choices have no band; they are shown, and not part of the sum.
CHOICES = {
    "friction.model": ("speed-pressure", "quadratic"),
    "cylinder_walls.heat_transfer": ("woschni", "hohenberg"),
}

Change = tuple[str, bool, float, float]


def tasks(fast: bool) -> list[tuple[str, float]]:
    """Engine and speed."""
    return [] if fast else [(name, rpm) for name, rpms in SPEEDS.items() for rpm in rpms]


def work(task: tuple[str, float]) -> list[Change]:
    """Field, whether assumed, and change of torque at minus and plus one deviation. [%]."""
    from enginesim.case import amend

    name, rpm = task
    case = engine(name, NUMERICS)
    base = _Base(case, rpm)
    answer: list[Change] = []
    for one in banded(case):
        low, high = (base.change(moved(case, one, side)) for side in (-1.0, 1.0))
        if not (np.isnan(low) and np.isnan(high)):
            answer.append((one.path, one.is_assumed, low, high))
    for path, others in CHOICES.items():
        found = [base.change(amend(case, {path: other})) for other in others]
        answer.append((f"{path} ({', '.join(others)})", True, *found))  # type: ignore[arg-type]
    return answer


class _Base:
    """A run that others are compared with."""

    def __init__(self, case: Case, rpm: float) -> None:
        self.rpm = rpm
        self.arrays = _arrays(case, rpm)
        self.record = self._run(case)
        self.torque = self._torque(case, self.record)

    def _run(self, case: Case) -> CycleRecord:
        from enginesim.cycle.curves import simulate

        return simulate(case, self.rpm)

    def _torque(self, case: Case, record: CycleRecord) -> float:
        from enginesim.cycle.curves import tables_of
        from enginesim.performance import summarise

        if not record.converged:
            return float("nan")
        return summarise(case, tables_of(case, self.rpm), record).torque

    def change(self, case: Case | None) -> float:
        """Torque of another case over this one's, less one. [%]."""
        from enginesim.base.errors import CaseError

        if case is None:
            return float("nan")
        try:
            arrays = _arrays(case, self.rpm)
        except CaseError:  # a flow that the port cannot pass
            return float("nan")
        same = all(np.array_equal(a, b) for a, b in zip(arrays, self.arrays, strict=True))
        # Arrays alike march alike: only what follows from the record, such as friction, differs.
        record = self.record if same else self._run(case)
        return 100.0 * (self._torque(case, record) / self.torque - 1.0)


def _arrays(case: Case, rpm: float) -> list[Any]:
    """Everything that a march gets of a case."""
    from enginesim.cycle.curves import tables_of
    from enginesim.network.engine import build

    made = build(case, tables_of(case, rpm), rpm)
    return [
        getattr(part, f.name)
        for part in (made.network, made.state)
        for f in fields(part)
        if isinstance(getattr(part, f.name), np.ndarray)
    ]


def _size(low: float, high: float) -> float:
    """Half the span of both sides, or the one there is. [%]."""
    return float(np.nanmean(np.abs([low, high])))


def _is_choice(path: str) -> bool:
    return "(" in path


def rows(folder: Folder, found: Found) -> list[Row]:
    """Sum of the defaults, the largest of them, and the friction law."""
    if not found:
        return []
    places = [f"{name} {rpm:.0f} rpm" for name, rpm in found]
    sums, largest, laws = [], {}, []
    for place, changes in zip(places, found.values(), strict=True):
        sizes = {
            p: _size(lo, hi) for p, assumed, lo, hi in changes if assumed and not _is_choice(p)
        }
        sums.append(float(np.sqrt(sum(s**2 for s in sizes.values()))))
        first = max(sizes, key=lambda p: sizes[p])
        largest[f"{place}, {first}"] = sizes[first]
        laws.append(
            max(max(abs(lo), abs(hi)) for p, _, lo, hi in changes if p[:15] == "friction.model ")
        )
    return [
        folder.points("together", places, sums),
        folder.points("largest", list(largest), list(largest.values())),
        folder.points("friction", places, laws),
    ]


def table(_: Folder, found: Found) -> str:
    """Every change as comma-separated values, for whoever makes bands of them."""
    lines = ["engine,speed [rpm],field,left to its default,minus one sigma [%],plus one sigma [%]"]
    for (name, rpm), changes in found.items():
        for path, assumed, low, high in changes:
            text = path.replace(",", " and")
            lines.append(
                f"{name},{rpm:.0f},{text},{'yes' if assumed else 'no'},{low:.4f},{high:.4f}"
            )
    return "\n".join(lines) + "\n"


def figure(folder: Folder, found: Found) -> Figure:
    """Bars of the largest changes, one panel an engine and speed."""
    drawn, axes = panels(2, 3, title=folder.title, width=13.0, height=4.6)
    for panel, ((name, rpm), changes) in zip(axes, found.items(), strict=True):
        shown = sorted(changes, key=lambda c: _size(c[2], c[3]))[-16:]
        for i, (path, assumed, low, high) in enumerate(shown):
            pale = 0.45 if not assumed else 1.0
            colours = (GREY, GREY) if _is_choice(path) else (SKY, BLUE)
            for size, colour in zip((low, high), colours, strict=True):
                panel.barh(i, size, height=0.7, color=colour, alpha=pale)
        names = [p.split(" (")[0] + (" *" if _is_choice(p) else "") for p, *_ in shown]
        panel.set_yticks(range(len(shown)), names, fontsize=7)
        for tick, (_, assumed, *_rest) in zip(panel.get_yticklabels(), shown, strict=True):
            tick.set_color("black" if assumed else VERMILLION)
        panel.axvline(0.0, color=GREY, lw=0.8)
        label(panel, "torque, change [%]", "", f"{name}, {rpm:.0f} rpm")
    drawn.supxlabel(
        "sky: one sigma less, blue: one sigma more; names in black: left to the default, in "
        "vermillion: given in this case; * another choice, not part of the sum", fontsize=8,
    )  # fmt: skip
    return drawn
