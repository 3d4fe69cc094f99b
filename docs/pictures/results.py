"""What comes of the command that a lesson shows: charts, sentences and single numbers."""

from __future__ import annotations

import contextlib
import io
import re
import shlex
from dataclasses import dataclass
from math import degrees, isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from enginesim.cli.compare import command
from enginesim.cli.contest import Contest, asked
from enginesim.performance.attribution import CAUSES, GROUPS
from enginesim.report.units import scale
from enginesim.valvetrain.card import events

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.cli.compared import Compared
    from enginesim.report.units import System
    from enginesim.study.store import Store

ROOT: Final = Path(__file__).resolve().parents[2]

_BLOCK: Final = re.compile(r"^```sh\n(.*?)^```", re.MULTILINE | re.DOTALL)
#: Fields of the performance that a lesson may quote at a speed.
QUOTED: Final = (
    "ve",
    "residual",
    "backflow",
    "spark",
    "ca50",
    "knock_margin",
    "pmep",
    "inlet_mach",
    "manifold_depression",
    "egt",
)


@dataclass(frozen=True)
class Lesson:
    """
    A comparison that a page of the lessons shows.

    Attributes
    ----------
    name : str
        Name of the page's file, without its ending; with ``-2`` for its second comparison.
    words : tuple of str
        The command, without the program's name.
    """

    name: str
    words: tuple[str, ...]

    @property
    def options(self) -> dict[str, Any]:
        """The command's arguments and options as the program reads them."""
        return command.make_context("compare", list(self.words[1:])).params

    @property
    def system(self) -> System:
        """Units of the command."""
        units: System = self.options["units"]
        return units

    def contest(self) -> Contest:
        """Engines and speeds that the command asks for; case files are seen from the top."""
        got = self.options
        return asked(
            [ROOT / path for path in got["cases"]],
            got["swaps"],
            got["overrides"],
            got["rpm"],
            got["window"],
            got["weights"],
            got["correction"],
            got["waves"],
        )


def commands(page: str) -> list[tuple[str, ...]]:
    """
    Every call of the program in the shell blocks of a page.

    Parameters
    ----------
    page : str
        Text of the page.

    Returns
    -------
    list of tuple of str
        Words after the program's name.
    """
    found = []
    for block in _BLOCK.findall(page):
        for line in block.replace("\\\n", " ").splitlines():
            words = shlex.split(line, comments=True)
            if words and words[0].endswith("enginesim"):
                found.append(tuple(words[1:]))
    return found


def lessons(folder: Path) -> list[Lesson]:
    """
    Comparisons to be drawn, in the order of the pages' names.

    Parameters
    ----------
    folder : Path
        Where the pages are.

    Returns
    -------
    list of Lesson
        One for each `compare` command of each page.
    """
    found = []
    for path in sorted(folder.glob("*.md")):
        shown = [w for w in commands(path.read_text("utf-8")) if w[:1] == ("compare",)]
        for i, words in enumerate(shown, start=1):
            found.append(Lesson(path.stem if i == 1 else f"{path.stem}-{i}", words))
    return found


def outcome(lesson: Lesson, contest: Contest, store: Store | None) -> Compared:
    """
    Result of a lesson's command.

    Parameters
    ----------
    lesson : Lesson
        The lesson.
    contest : Contest
        What its command asks for.
    store : Store or None
        Where results are looked for and kept.

    Returns
    -------
    Compared
        Engines side by side.

    Raises
    ------
    RuntimeError
        If a speed failed, or did not become periodic: then there is nothing to teach with.
    """
    from enginesim.cli.compared import Compared
    from enginesim.study.obtain import obtain

    cases = [entrant.case for entrant in contest.entry.entrants]
    parts = obtain(cases, contest.rpm, store=store)
    compared = Compared.of(contest, parts, lesson.system)
    if len(compared.comparison.rpm) < len(contest.rpm):
        raise RuntimeError(f"lesson {lesson.name}: not every speed became periodic")
    return compared


def draw(compared: Compared, folder: Path) -> None:
    """
    Charts of a comparison, as its command draws them, and its sentences.

    Parameters
    ----------
    compared : Compared
        Engines side by side.
    folder : Path
        Where to; `verdicts.md` and `reasons.md` are lists to be included in a page.
    """
    from enginesim.report import files

    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        compared.write(None, None, folder, has_page=False)
    for name in ("verdicts", "reasons"):
        lines = []
        for i in compared.others:
            said = " ".join(getattr(compared, name)(i))
            lines.append(f"* **{compared.entrants[i].letter}.** {said}\n")
        files.write(folder / f"{name}.md", "".join(lines))


def numbers(compared: Compared) -> dict[str, dict[str, str]]:
    """
    Everything that a lesson may quote, as text with its unit.

    Parameters
    ----------
    compared : Compared
        Engines side by side.

    Returns
    -------
    dict
        For each letter: `compression_ratio`, `overlap`, `intake_closes` and `exhaust_opens` at the
        lowest checking height, `torque_RPM`, `gain_RPM` and `power_gain_RPM` against A with their
        signs, `average_torque`, `average_power`, `peak_torque`, `peak_power`, `crossing`,
        `by_CAUSE_RPM` for each cause and each group of causes, and `FIELD_RPM` for each field of
        `QUOTED`.
    """
    return {
        entrant.letter: {
            **_of_engine(entrant.case),
            **_of_curve(compared, i),
            **_of_fields(compared, i),
            **(_of_difference(compared, i) if i else {}),
        }
        for i, entrant in enumerate(compared.entrants)
    }


def _signed(value: float, system: System, name: str = "torque", digits: int = 0) -> str:
    shown = scale(name, system)
    text = f"{float(shown.of(value)):+.{digits}f}"
    size = text[1:]
    sign = "" if float(size) == 0.0 else text[0].replace("-", "\N{MINUS SIGN}")
    return f"{sign}{size} {shown.symbol}"


def _of_engine(case: Case) -> dict[str, str]:
    """Compression ratio, and the cam's events at its lowest checking height."""
    cam = case.cam
    found = {"compression_ratio": f"{case.block.compression_ratio:.1f}"}
    if cam.intake.durations and cam.exhaust.durations:
        at_seat = events(
            min(cam.intake.durations)[1],
            min(cam.exhaust.durations)[1],
            cam.lobe_separation,
            cam.intake_centreline,
        )
        found["overlap"] = f"{degrees(at_seat.overlap):.0f} deg"
        found["intake_closes"] = f"{degrees(at_seat.ic):.0f} deg"
        found["exhaust_opens"] = f"{degrees(at_seat.eo):.0f} deg"
    return found


def _of_curve(compared: Compared, i: int) -> dict[str, str]:
    comparison, system = compared.comparison, compared.units
    found = {}
    for name in ("torque", "power"):
        rpm, value = comparison.peak(i, name)
        found[f"peak_{name}"] = f"{scale(name, system).with_unit(value, 0)} at {rpm:,.0f} rpm"
    for rpm, torque in zip(comparison.rpm.tolist(), comparison.torque[i].tolist(), strict=True):
        found[f"torque_{rpm:.0f}"] = scale("torque", system).with_unit(torque, 0)
    return found


def _of_fields(compared: Compared, i: int) -> dict[str, str]:
    found = {}
    for point in compared.comparison.sides[i].curve.points:
        for field in QUOTED:
            if isfinite(point[field]):
                text = scale(field, compared.units).with_unit(point[field])
                found[f"{field}_{point.rpm:.0f}"] = text
    return found


def _of_difference(compared: Compared, i: int) -> dict[str, str]:
    comparison, system = compared.comparison, compared.units
    # A small engine's differences are of the order of one: one decimal more.
    digits = 1 if float(scale("torque", system).of(comparison.torque.max())) < 100.0 else 0
    found = {
        f"average_{name}": _signed(
            comparison.average(i, name) - comparison.average(0, name), system, name, 1
        )
        for name in ("torque", "power")
    }
    crossings = [f"{round(c.rpm, -2):,.0f} rpm" for c in comparison.crossovers(i)]
    found["crossing"] = " and ".join(crossings) or "no speed"
    for rpm, gain, power in zip(
        comparison.rpm.tolist(),
        comparison.difference(i).tolist(),
        comparison.difference(i, "power").tolist(),
        strict=True,
    ):
        found[f"gain_{rpm:.0f}"] = _signed(gain, system, digits=digits)
        found[f"power_gain_{rpm:.0f}"] = _signed(power, system, "power", digits)
    for one in compared.causes[i - 1]:
        for cause in CAUSES:
            found[f"by_{cause}_{one.rpm:.0f}"] = _signed(one.parts[cause], system, digits=digits)
        for group in GROUPS:
            key = f"by_{group.replace(' ', '_')}_{one.rpm:.0f}"
            found[key] = _signed(one.group(group), system, digits=digits)
    return found
