"""What came of a comparison: shown on the screen, written to files."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

import click

from enginesim.base.errors import ResultError
from enginesim.base.provenance import Provenance, stamp
from enginesim.dyno.correction import air_of, factor
from enginesim.report import comparison_notes, comparison_table, comparison_text, notes
from enginesim.report.plotter import CHART, PAGE, Plotter
from enginesim.study.comparison import Side, compare, interaction, interaction_error
from enginesim.study.reasons import attributions, regions
from enginesim.study.swap import Entrant, changes

if TYPE_CHECKING:
    from enginesim.cli.contest import Contest
    from enginesim.performance.attribution import Attribution
    from enginesim.report.units import System
    from enginesim.study.comparison import Comparison
    from enginesim.study.obtain import Obtained
    from enginesim.study.paired_bands import Share

_LONGEST = 40  # lines of what is different; more are two engines, not a swap


@dataclass(frozen=True)
class Compared:
    """
    A comparison with all that is said of it.

    Attributes
    ----------
    contest : Contest
        What was asked for.
    comparison : Comparison
        Engines side by side.
    is_complete : bool
        Whether every speed that was asked for is there.
    units : {"us", "si"}
        Units.
    shares : tuple of tuple of Share
        For each side but the first, what assumed values do to its difference, where that was
        worked out.
    """

    contest: Contest
    comparison: Comparison
    is_complete: bool
    units: System
    shares: tuple[tuple[Share, ...], ...] = ()

    @classmethod
    def of(cls, contest: Contest, parts: Sequence[Obtained], units: System) -> Compared:
        """
        Comparison of what was got.

        Parameters
        ----------
        contest : Contest
            What was asked for.
        parts : sequence of Obtained
            Results of each engine.
        units : {"us", "si"}
            Units.

        Returns
        -------
        Compared
            To be shown and written.

        Raises
        ------
        ResultError
            If fewer than two speeds are common to all, or the window reaches beyond them.
        """
        pairs = list(zip(contest.entry.entrants, parts, strict=True))
        without = [entrant.letter for entrant, part in pairs if not part.points]
        if without:
            raise ResultError(
                f"comparison: found no result of {', '.join(without)}; allowed two speeds or more "
                "of every engine at which its cycles are periodic"
            )
        sides = [
            Side(
                entrant.letter,
                entrant.label,
                part.curve,
                factor(contest.standard, air_of(entrant.case)),
                entrant.case.numerics.bmep_tolerance,
            )
            for entrant, part in pairs
        ]
        comparison = compare(sides, contest.window, contest.weights)
        is_complete = all(len(part.points) == len(contest.rpm) for part in parts)
        return cls(contest, comparison, is_complete, units)

    @property
    def entrants(self) -> tuple[Entrant, ...]:
        """The engines."""
        return self.contest.entry.entrants

    @cached_property
    def causes(self) -> list[tuple[Attribution, ...]]:
        """For each side but the first, causes of its difference at each speed."""
        return [attributions(self.comparison, i) for i in self.others]

    @property
    def others(self) -> range:
        """Indices of all sides but the first."""
        return range(1, len(self.entrants))

    @cached_property
    def provenance(self) -> list[Provenance]:
        """Stamp of each side."""
        return [stamp(entrant.case.digest) for entrant in self.entrants]

    @property
    def title(self) -> str:
        """What is compared."""
        first = self.entrants[0]
        if first.label == "as it is":
            return first.case.name or "Engine without a name"
        return " / ".join(entrant.label for entrant in self.entrants)

    @cached_property
    def conditions(self) -> tuple[str, ...]:
        """Lines for the foot of a table or a chart."""
        return comparison_notes.conditions(
            self.comparison, self.entrants, self.provenance, self.contest.standard, self.units
        )

    def verdicts(self, i: int) -> tuple[str, ...]:
        """
        Where one side is better, and by how much.

        Parameters
        ----------
        i : int
            Index of the side. [-]

        Returns
        -------
        tuple of str
            Sentences.
        """
        return comparison_text.verdicts(self.comparison, i, self.units)

    def reasons(self, i: int) -> tuple[str, ...]:
        """
        Why one side is better or worse, region by region.

        Parameters
        ----------
        i : int
            Index of the side. [-]

        Returns
        -------
        tuple of str
            Sentences.
        """
        found = regions(self.comparison, i, self.causes[i - 1])
        return comparison_text.reasons(self.comparison, i, found, self.units)

    @property
    def certainty(self) -> tuple[str, ...]:
        """How sure the differences are, and what is not in that."""
        return comparison_notes.certainty(self.comparison, self.units, self.shares)

    @property
    def interplay(self) -> tuple[str, ...]:
        """Whether parts act on each other; nothing where that was not asked."""
        if not self.contest.entry.has_sum:
            return ()
        surplus = interaction(self.comparison).tolist()
        error = interaction_error(self.comparison).tolist()
        return (comparison_text.interplay(self.comparison, surplus, error, self.units),)

    def show(self, *, brief: bool) -> None:
        """
        Show it on the screen.

        Parameters
        ----------
        brief : bool
            Whether the tables by speed are left out.
        """
        from enginesim.cli.cautions import CAUTIONS
        from enginesim.cli.screen import show_figures, show_lines, show_list

        first = self.entrants[0]
        show_lines([self.title, *(f"{e.letter}: {e.label}" for e in self.entrants)])
        for i in self.others:
            self._show_changes(first, self.entrants[i])
        if not brief:
            for part in comparison_table.by_speed(self.comparison, self.units):
                show_figures(part)
        show_figures(comparison_table.summary(self.comparison, self.units))
        for i in self.others:
            letter = self.entrants[i].letter
            show_list(f"{letter} against {first.letter}", self.verdicts(i))
            show_list(f"Why {letter} and {first.letter} differ", self.reasons(i))
            if not brief and len(self.entrants) == 2:
                letters = (first.letter, letter)
                show_figures(comparison_table.causes(self.causes[i - 1], letters, self.units))
        show_list("Together", self.interplay)
        show_list("How sure", self.certainty)
        click.echo()
        counts = ", ".join(f"{e.letter} {len(e.case.assumed)}" for e in self.entrants)
        assumed = f"Values assumed: {counts}; `enginesim check` lists them with their sources"
        show_lines([*self.conditions, assumed])
        warnings = comparison_notes.warnings(self.entrants, self.contest.standard)
        own = [str(w) for e in self.entrants for w in e.case.warnings]
        pairs = zip(self.entrants, self.comparison.sides, strict=True)
        own += [f"{e.letter}: {text}" for e, s in pairs for text in notes.knocking(e.case, s.curve)]
        show_list("Warnings", [*warnings, *dict.fromkeys(own)])
        show_list("Cautions", CAUTIONS)

    def _show_changes(self, first: Entrant, other: Entrant) -> None:
        from enginesim.cli.screen import show_figures

        rows = self._changes(first, other)
        if not rows:
            return
        if len(rows) > _LONGEST:
            click.echo(f"\n{other.letter} differs from {first.letter} in {len(rows)} fields")
            return
        show_figures(comparison_table.changes(rows, (first.letter, other.letter)))

    def _changes(self, first: Entrant, other: Entrant) -> tuple[tuple[str, str, str], ...]:
        """What is different; nothing for all together, which says it of each."""
        is_sum = self.contest.entry.has_sum and other is self.entrants[-1]
        return () if is_sum else changes(first.case, other.case)

    def write(
        self,
        json_file: Path | None,
        csv_file: Path | None,
        out: Path | None,
        *,
        has_page: bool,
        plotter: Plotter | None = None,
    ) -> tuple[Path, ...]:
        """
        Write what was asked for, each file whole or not at all.

        Parameters
        ----------
        json_file, csv_file : Path or None
            Files of figures.
        out : Path or None
            Folder for charts and figures.
        has_page : bool
            Whether the one-page report is wanted.
        plotter : Plotter, optional
            Who draws; one is started for it if there is none yet.

        Returns
        -------
        tuple of Path
            The files.

        Raises
        ------
        FileError
            If a place cannot be written.
        """
        from enginesim.report import comparison_file, files

        json_files = [path for path in (json_file, out and out / "compare.json") if path]
        csv_files = [path for path in (csv_file, out and out / "compare.csv") if path]
        written: list[Path] = []
        try:
            if json_files:
                document = comparison_file.document(
                    self.comparison,
                    self.entrants,
                    self.causes,
                    self.provenance,
                    self.contest.standard,
                    is_complete=self.is_complete,
                )
                for path in json_files:
                    files.write(path, files.json_text(document))
            for path in csv_files:
                files.write(path, comparison_file.csv_text(self.comparison))
            written += [*json_files, *csv_files]
            if out is not None:
                with Plotter(()) if plotter is None else nullcontext(plotter) as by:
                    self._draw(by, out, has_page=has_page)
                    written += by.finish()
        except OSError as error:
            where = str(error.filename or out)
            raise click.FileError(where, error.strerror or str(error)) from error
        return tuple(written)

    def _draw(self, by: Plotter, out: Path, *, has_page: bool) -> None:
        sure = [row for text in self.certainty[:-1] for row in textwrap.wrap(text, 150)]
        lines = [*sure, *self.conditions]
        by.draw(
            out / "compare", CHART, "comparison_figure",
            self.comparison, self.title, lines, self.units,
        )  # fmt: skip
        first = self.entrants[0]
        for i in self.others:
            other = self.entrants[i]
            lines = [row for text in self.reasons(i) for row in textwrap.wrap(text, 130)]
            by.draw(
                out / f"why-{other.letter}", CHART, "reason_figure",
                self.causes[i - 1],
                f"Why {other.letter} and {first.letter} differ",
                f"{other.letter}: {other.label};  {first.letter}: {first.label}",
                [*lines, *self.conditions[:1], *self.conditions[-1:]],
                self.units,
            )  # fmt: skip
        if has_page:
            self._draw_page(by, out)
        for rpm in self.contest.waves:
            self._draw_waves(by, out, rpm)

    def _draw_waves(self, by: Plotter, out: Path, rpm: float) -> None:
        from concurrent.futures import ThreadPoolExecutor

        from enginesim.cycle import simulate

        click.echo(f"waves at {rpm:.0f} rpm ...", err=True)
        with ThreadPoolExecutor() as pool:
            records = list(pool.map(lambda e: simulate(e.case, rpm, traces=True), self.entrants))
        names = [f"{entrant.letter}: {entrant.label}" for entrant in self.entrants]
        for i in self.others:
            by.draw(
                out / f"waves-{self.entrants[i].letter}-{rpm:.0f}", CHART, "valve_pressure_figure",
                (records[0], records[i]),
                (names[0], names[i]),
                self.title,
                self.conditions[1:],
                self.units,
            )  # fmt: skip

    def _draw_page(self, by: Plotter, out: Path) -> None:
        first, *others = self.entrants
        if len(others) == 1:
            verdicts, reasons = self.verdicts(1), self.reasons(1)
        else:
            found = [regions(self.comparison, i, self.causes[i - 1]) for i in self.others]
            verdicts = tuple(self.verdicts(i)[0] for i in self.others)
            reasons = tuple(
                text
                for i, one in enumerate(found, 1)
                for text in comparison_text.main_reason(self.comparison, i, one, self.units)
            )
        words = comparison_notes.Words(
            title=self.title,
            sides=tuple(f"{entrant.letter}: {entrant.label}" for entrant in self.entrants),
            changes=tuple(self._changes(first, other) for other in others),
            verdicts=(*verdicts, *self.interplay),
            reasons=reasons,
            certainty=self.certainty,
            conditions=self.conditions,
            warnings=comparison_notes.warnings(self.entrants, self.contest.standard),
            assumed=tuple(
                (item.path, item.value if self.units == "us" else item.value_si, item.band or "")
                for item in self.entrants[0].case.assumed
            ),
        )
        by.draw(
            out / "page", PAGE, "comparison_page",
            self.comparison, self.causes[-1], words, self.units,
        )  # fmt: skip
