"""`enginesim bench`: what this machine does."""

from __future__ import annotations

import json
from pathlib import Path

import click

from enginesim.cli.paths import require_writable


@click.command(name="bench")
@click.option(
    "--json", "json_file", type=click.Path(dir_okay=False, path_type=Path), help="Write JSON."
)
@click.option(
    "--cold/--no-cold",
    default=True,
    show_default=True,
    help="Also time a start with nothing compiled (up to a minute).",
)
def command(json_file: Path | None, cold: bool) -> int:
    """
    Measure what this machine does: kernels, a whole engine, a curve, the start.

    Each figure is the best of a few rounds on an otherwise idle machine.
    """
    require_writable("--json", json_file)

    from dataclasses import asdict

    from enginesim.base.jit import is_cached
    from enginesim.base.provenance import stamp
    from enginesim.cli.progress import COMPILING

    if not is_cached():
        click.echo(COMPILING, err=True)
    click.echo("timing ...", err=True)

    from enginesim.case import assemble
    from enginesim.cli.screen import show_table
    from enginesim.cycle.bench import V8, bench
    from enginesim.report import files

    figures = bench(is_cold_timed=cold)
    cores = f"{figures.n_cores} cores" if figures.n_cores > 1 else "1 core"
    rows = [
        ("duct kernel, one core", f"{figures.duct_rate / 1e6:.1f} million cell updates/s"),
        ("whole V8, one core", f"{figures.engine_rate / 1e6:.1f} million cell updates/s"),
        ("V8 curve of 13 speeds, one core", f"{figures.curve_one:.2f} s"),
        (f"V8 curve of 13 speeds, {cores}", f"{figures.curve_all:.2f} s"),
        ("first speed of a fresh process, compiled", f"{figures.cached_start:.2f} s"),
    ]
    if figures.cold_start is not None:
        rows.append(("first speed of a fresh process, cold", f"{figures.cold_start:.1f} s"))
    rows.append(("peak memory of such a process", f"{figures.peak_memory:.0f} MB"))
    show_table("What this machine does", ("what", "figure"), rows)
    if json_file is not None:
        document = {"provenance": asdict(stamp(assemble(V8).digest)), "bench": asdict(figures)}
        files.write(json_file, json.dumps(document, indent=2) + "\n")
    return 0
