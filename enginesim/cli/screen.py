"""Tables on a screen: ruled and coloured on a terminal, plain text anywhere else."""

from __future__ import annotations

import shutil
import sys
import textwrap
from typing import TYPE_CHECKING, Final

import click

from enginesim.base.characters import visible

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.report.table import Table as Figures

_LINE: Final = 98  # characters of a sentence in a line, at most [-]
_MORE: Final = ", continued"


def show_table(title: str, columns: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """
    Show a table.

    Parameters
    ----------
    title : str
        Line above it. [-]
    columns : sequence of str
        Heads of the columns; all empty for none. [-]
    rows : sequence of sequence of str
        Cells. [-]
    """
    rows = [tuple(map(_shown, row)) for row in rows]
    if sys.stdout.isatty():
        _show_ruled(title, columns, ("",) * len(columns), rows, is_numeric=False)
        return
    heads = [list(columns)] if any(columns) else []
    cells = [*heads, *([*row] for row in rows)]
    widths = [max((len(row[i]) for row in cells), default=0) for i in range(len(columns))]
    click.echo(f"\n{title}")
    for row in cells:
        line = "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        click.echo(f"  {line.rstrip()}")


def _show_ruled(
    title: str,
    labels: Sequence[str],
    units: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    is_numeric: bool,
) -> None:
    """As one table, or on a narrow screen as several, each with what names the rows."""
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    from enginesim.cli.columns import GAP, arranged, column, naming

    console = Console(width=screen_width())
    wanted = [
        column(label, unit, [row[i] for row in rows], is_numeric=is_numeric)
        for i, (label, unit) in enumerate(zip(labels, units, strict=True))
    ]
    for widths in arranged(wanted, console.width, naming(rows)):
        table = Table(
            box=box.SIMPLE_HEAD,
            show_edge=False,
            show_header=any(labels),
            pad_edge=False,
            padding=(0, GAP - 1, 0, 0),  # the rule between heads and rows takes one more
        )
        for i, width in widths.items():
            table.add_column(
                Text(labels[i]).append(f"\n{units[i]}", "dim") if any(units) else Text(labels[i]),
                justify="right" if is_numeric else "left",
                vertical="bottom" if is_numeric else "top",
                overflow="fold",
                width=width,
            )
        for row in rows:
            table.add_row(*(Text(row[i]) for i in widths))
        console.print()
        console.print(Text(title, "bold"))
        console.print(table)
        title = title.removesuffix(_MORE) + _MORE


def screen_width() -> int:
    """
    Measure the terminal.

    Returns
    -------
    int
        Characters in a line; 80 where that is not known. [-]
    """
    return shutil.get_terminal_size((80, 24)).columns or 80


def show_lines(lines: Sequence[str]) -> None:
    """
    Show lines; on a terminal that is too narrow, wrapped between words.

    Parameters
    ----------
    lines : sequence of str
        Sentences. [-]
    """
    for line in map(_shown, lines):
        click.echo(_wrapped(line, screen_width()) if sys.stdout.isatty() else line)


def _shown(text: str) -> str:
    return visible(text, has_lines=True)


def _wrapped(text: str, width: int, first: str = "", later: str = "  ") -> str:
    return textwrap.fill(
        text,
        width,
        initial_indent=first,
        subsequent_indent=later,
        break_on_hyphens=False,
        break_long_words=False,
    )


def show_list(title: str, items: Sequence[str]) -> None:
    """
    Show sentences under a title; nothing if there are none.

    Parameters
    ----------
    title : str
        Line above them. [-]
    items : sequence of str
        Sentences. [-]
    """
    if not items:
        return
    click.echo("\n" + (click.style(title, bold=True) if sys.stdout.isatty() else title))
    for item in map(_shown, items):
        if sys.stdout.isatty():
            click.echo(_wrapped(item, min(_LINE, screen_width()), "  - ", "    "))
            continue
        click.echo(textwrap.fill(item, _LINE, initial_indent="  - ", subsequent_indent="    "))


def show_figures(table: Figures) -> None:
    """
    Show a table of a report: its own layout in plain text, ruled on a terminal.

    Parameters
    ----------
    table : Figures
        From :mod:`enginesim.report.table`. [-]
    """
    from enginesim.report.table import plain

    if not sys.stdout.isatty():
        click.echo(f"\n{plain(table)}")
        return
    _show_ruled(table.title, table.labels, table.units, table.rows, is_numeric=table.is_numeric)
