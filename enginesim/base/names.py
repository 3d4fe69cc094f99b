"""Which known name did the user most likely mean?"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


def nearest(name: str, known: Iterable[str]) -> str | None:
    """
    Known name that looks most like the given one.

    Parameters
    ----------
    name : str
        What was written.
    known : iterable of str
        What could have been written.

    Returns
    -------
    str or None
        The closest name, or None when none is close.

    Examples
    --------
    >>> nearest("stoke", ["bore", "stroke"])
    'stroke'
    """
    from difflib import get_close_matches

    plain = {_plain(candidate): candidate for candidate in known}
    found = get_close_matches(_plain(name), plain, n=1, cutoff=0.6)
    return plain[found[0]] if found else None


def _plain(name: str) -> str:
    """Name without the marks in which people differ."""
    return name.lower().replace("-", "_").replace(" ", "_")
