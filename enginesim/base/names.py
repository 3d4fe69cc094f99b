"""Which known name did the user most likely mean?"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable

# Share of two file names that must be alike: in four letters, one may be wrong or out of place.
_NEAR_FILE: Final = 0.75
_LONGEST: Final = 60  # characters of a word that may be a slip of the pen [-]


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
        The closest name, or None when none is close or the word is longer than any name.

    Examples
    --------
    >>> nearest("stoke", ["bore", "stroke"])
    'stroke'
    """
    if len(name) > _LONGEST:  # the time that it takes grows with the square
        return None
    from difflib import get_close_matches

    plain = {_plain(candidate): candidate for candidate in known}
    found = get_close_matches(_plain(name), plain, n=1, cutoff=0.6)
    return plain[found[0]] if found else None


def nearest_file(name: str, known: Iterable[str]) -> str | None:
    """
    File that was most likely meant, where one is near enough to be a slip of the keyboard.

    Parameters
    ----------
    name : str
        Name that was written, without its folder.
    known : iterable of str
        Names in that folder.

    Returns
    -------
    str or None
        A name that differs in its ending alone, or in a letter or two of what comes before it;
        None when there is no such name: another engine's file is no help.

    Examples
    --------
    >>> nearest_file("coupe.tml", ["coupe.toml", "couch.toml"])
    'coupe.toml'
    >>> nearest_file("nope.toml", ["pyproject.toml"])
    """
    from difflib import get_close_matches

    plain = {_plain(_stem(candidate)): candidate for candidate in known if _stem(candidate)}
    found = get_close_matches(_plain(_stem(name)), plain, n=1, cutoff=_NEAR_FILE)
    return plain[found[0]] if found else None


def _stem(name: str) -> str:
    return name.rpartition(".")[0] or name


def _plain(name: str) -> str:
    """Name without the marks in which people differ."""
    return name.lower().replace("-", "_").replace(" ", "_")
