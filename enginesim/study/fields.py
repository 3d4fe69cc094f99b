"""Which fields of a case can a study name, and by which spellings?"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from enginesim.case.facts import walk
from enginesim.case.tree import Case

if TYPE_CHECKING:
    from enginesim.case.facts import Field


@lru_cache(maxsize=1)
def known_fields() -> dict[str, Field]:
    """
    Every field and part of a case, by dotted path.

    Returns
    -------
    dict of str to Field
        In the order of the file.
    """
    return dict(walk(Case))


@lru_cache(maxsize=1)
def _spellings() -> dict[str, str | None]:
    """Plain spelling of each path; None where two share one."""
    found: dict[str, str | None] = {}
    for path in known_fields():
        plain = _plain(path)
        found[plain] = None if plain in found else path
    return found


def _plain(path: str) -> str:
    """Path without the marks between its words, and without a plural's s."""
    return path.lower().replace(".", " ").replace("_", " ").replace("-", " ").removesuffix("s")


def resolved(name: str) -> str | None:
    """
    Path of a field that was named.

    Parameters
    ----------
    name : str
        A path; dots, underscores and a plural's s make no difference where only one field fits.

    Returns
    -------
    str or None
        The path, or None where there is none.

    Examples
    --------
    >>> resolved("intake.runner.length")
    'intake.runner_lengths'
    """
    return name if name in known_fields() else _spellings().get(_plain(name))
