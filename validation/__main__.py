"""``python -m validation``: run the checks and write the page."""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Sequence

import click

from validation import page, runner
from validation.folder import Folder
from validation.judgement import FAILED, MISS, WITHIN, EvidenceError, Row

_FAILED, _WRONG_INPUT, _INTERRUPTED = 1, 2, 130


def _count(rows: Sequence[Row]) -> str:
    count = Counter(row.verdict for row in rows)
    parts = [f"{count[verdict]} {verdict}" for verdict in (WITHIN, MISS, FAILED) if count[verdict]]
    return ", ".join(parts) or "nothing found"


def _tell(folder: Folder, rows: Sequence[Row], seconds: float) -> None:
    click.echo(f"{folder.name:28} {_count(rows):28} {seconds:6.1f} processor s")
    for row in rows:
        if row.verdict != WITHIN:
            click.echo(f"    {row.verdict}: {row.what}: found {row.found}, limit {row.limit}")


@click.command(name="validation", context_settings={"help_option_names": ["-h", "--help"]})
@click.option("--only", multiple=True, metavar="NAME", help="This check alone; may be repeated.")
@click.option("--fast", is_flag=True, help="Only the quick part of each check; writes nothing.")
@click.option(
    "--jobs", type=click.IntRange(1), help="Processes; one for each processor if left out."
)
@click.option("--list", "is_list", is_flag=True, help="Names of the checks.")
def command(only: tuple[str, ...], fast: bool, jobs: int | None, is_list: bool) -> int:
    """Compare the program with what is known from elsewhere, and write validation/README.md.

    A miss is no failure: it is published. The exit code is 1 only if a check did not run.
    """
    folders = runner.chosen(only)
    if is_list:
        for folder in folders:
            click.echo(f"{folder.name:28} {folder.title}")
        return 0
    if not fast:
        click.echo(
            "what is found is kept beside each check, and validation/README.md is written anew"
        )
    begin = time.perf_counter()
    try:
        rows = runner.run(folders, fast=fast, jobs=jobs, keep=not fast, on_done=_tell)
    finally:
        # What was complete before an interruption is kept, so the page has it too.
        if not fast:
            page.save()
    click.echo(f"{_count(rows)} in {time.perf_counter() - begin:.0f} s")
    if not fast:
        click.echo("validation/README.md written")
    return _FAILED if any(row.verdict == FAILED for row in rows) else 0


def main(arguments: Sequence[str] | None = None) -> int:
    """Run it; 0, 1 if a check did not run, 2 when the words are wrong, 130 when interrupted."""
    words = None if arguments is None else list(arguments)
    try:
        code = command.main(args=words, prog_name="python -m validation", standalone_mode=False)
    except click.ClickException as error:
        error.show()
        return error.exit_code
    except EvidenceError as error:
        click.echo(f"error: {error}", err=True)
        return _WRONG_INPUT
    except (click.Abort, KeyboardInterrupt):
        click.echo("interrupted", err=True)
        return _INTERRUPTED
    return code if isinstance(code, int) else 0


if __name__ == "__main__":
    sys.exit(main())
