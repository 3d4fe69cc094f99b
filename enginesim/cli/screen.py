"""Tables on a screen: ruled and coloured on a terminal, plain text anywhere else."""

from __future__ import annotations

import sys
import textwrap
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.report.table import Table as Figures


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
    if sys.stdout.isatty():
        _show_ruled(title, columns, rows)
        return
    heads = [list(columns)] if any(columns) else []
    cells = [*heads, *([*row] for row in rows)]
    widths = [max((len(row[i]) for row in cells), default=0) for i in range(len(columns))]
    click.echo(f"\n{title}")
    for row in cells:
        line = "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        click.echo(f"  {line.rstrip()}")


def _show_ruled(title: str, columns: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    from rich import box
    from rich.console import Console
    from rich.table import Table

    table = Table(
        title=title,
        title_justify="left",
        title_style="bold",
        box=box.SIMPLE_HEAD,
        show_header=any(columns),
    )
    for column in columns:
        table.add_column(column, overflow="fold")
    for row in rows:
        table.add_row(*(cell.replace("[", r"\[") for cell in row))
    Console().print(table)


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
    for item in items:
        click.echo(textwrap.fill(item, 98, initial_indent="  - ", subsequent_indent="    "))


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
    from rich import box
    from rich.console import Console
    from rich.table import Table

    ruled = Table(title=table.title, title_justify="left", title_style="bold", box=box.SIMPLE_HEAD)
    for label, unit in zip(table.labels, table.units, strict=True):
        head = f"{label}\n[dim]{unit}[/dim]" if any(table.units) else label
        ruled.add_column(head, justify="right" if table.is_numeric else "left", overflow="fold")
    for row in table.rows:
        ruled.add_row(*(cell.replace("[", r"\[") for cell in row))
    Console().print(ruled)
