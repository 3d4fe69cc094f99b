"""`enginesim validate`: the program against what is known from elsewhere."""

from __future__ import annotations

import sys
from importlib import import_module
from pathlib import Path

import click

from enginesim.cli.ranges import Whole


@click.command(name="validate")
@click.option("--only", multiple=True, metavar="NAME", help="This check alone; may be repeated.")
@click.option("--fast", is_flag=True, help="Only the quick part of each check; writes nothing.")
@click.option("--jobs", type=Whole(1), help="Processes; one per processor if left out.")
@click.option("--list", "is_list", is_flag=True, help="Names of the checks.")
def command(only: tuple[str, ...], fast: bool, jobs: int | None, is_list: bool) -> int:
    """
    Compare the program with what is known from elsewhere.

    The checks are part of the project's sources, not of an installed package: run this from there.
    Writes validation/README.md, one table of every check. A miss is no failure: it is published.
    """
    root = checkout()
    if root is None:
        raise click.ClickException(
            "validation: found no folder of checks here (they are part of the project's sources: "
            "change to the folder that holds pyproject.toml, cases and validation)"
        )
    words = [word for name in only for word in ("--only", name)]
    words += [word for word, is_given in (("--fast", fast), ("--list", is_list)) if is_given]
    words += ["--jobs", str(jobs)] if jobs else []
    sys.path.insert(0, str(root))
    code: int = import_module("validation.__main__").main(words)
    return code


def checkout() -> Path | None:
    """
    Folder of the project's sources.

    Returns
    -------
    Path or None
        The current folder or the one that this package lies in, if it has the checks.
    """
    for folder in (Path.cwd(), Path(__file__).resolve().parents[2]):
        if (folder / "validation" / "__main__.py").is_file():
            return folder
    return None
