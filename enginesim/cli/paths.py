"""Can a file or folder that was asked for be written at all?"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from pathlib import Path


def require_writable(option: str, path: Path | None) -> None:
    """
    Refuse a place that could only fail after all the work; folders on the way are made later.

    Parameters
    ----------
    option : str
        Where it was typed.
    path : Path or None
        A file, or with ``--out`` a folder; None if nothing is to be written.

    Raises
    ------
    UsageError
        If nothing can be written there.
    """
    if path is None:
        return
    # The first that is there already: the folder itself, or one above it.
    place = path if option == "--out" and path.exists() else path.absolute().parent
    while not place.exists() and place != place.parent:
        place = place.parent
    if not place.is_dir():
        raise click.UsageError(f"{option} {path}: {place} is a file, not a folder")
    if not os.access(place, os.W_OK | os.X_OK):
        raise click.UsageError(f"{option} {path}: folder {place} cannot be written to")
