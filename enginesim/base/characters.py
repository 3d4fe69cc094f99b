"""Which characters may a name hold, and how is any text shown where it could do harm?"""

from __future__ import annotations

import re
from typing import Any, Final

#: Most characters of what was typed that a message repeats.
QUOTED: Final = 60
#: Most characters of a path that a message repeats.
LONGEST_PATH: Final = 200
#: Most characters of a name, and of notes.
LONGEST_NAME: Final = 200
LONGEST_NOTES: Final = 20_000
#: Most characters of one part of a message, such as what was found.
_LONGEST_PART: Final = 1000

# What steers a terminal (C0, DEL, C1), halves of a pair (surrogates), what breaks or turns a line
# unseen, and code points that are no characters and make an XML file (an SVG) unreadable.
_NONCHARACTERS = "".join(chr(plane << 16 | low) for plane in range(17) for low in (0xFFFE, 0xFFFF))
_HARMFUL: Final = re.compile(
    "[\x00-\x1f\x7f-\x9f\ud800-\udfff\u2028\u2029\u202a-\u202e\u2066-\u2069\ufdd0-\ufdef"
    f"{_NONCHARACTERS}]"
)
_LINES: Final = "\n\t"
_LONG_QUOTE: Final = re.compile(rf"'[^'\n]{{{QUOTED + 1},}}'|\"[^\"\n]{{{QUOTED + 1},}}\"")
# A spreadsheet takes a cell that begins so for a formula.
_FORMULA: Final = ("=", "+", "-", "@", "\t")


def harmful(text: str, *, has_lines: bool = False) -> str:
    r"""
    First character of a text that a name may not hold.

    Parameters
    ----------
    text : str
        What was written.
    has_lines : bool
        Whether line breaks and tabs may stand in it.

    Returns
    -------
    str
        Its number, such as ``U+001B``; empty if there is none.

    Examples
    --------
    >>> harmful("V8\x1b[2J")
    'U+001B'
    """
    allowed = _LINES if has_lines else ""
    for found in _HARMFUL.finditer(text):
        if found.group() not in allowed:
            return f"U+{ord(found.group()):04X}"
    return ""


def visible(text: str, *, has_lines: bool = False) -> str:
    r"""
    Text with every harmful character written out.

    Parameters
    ----------
    text : str
        Anything, such as the name of a file.
    has_lines : bool
        Whether line breaks and tabs stay.

    Returns
    -------
    str
        Harmless on a terminal, in a chart and in a file.

    Examples
    --------
    >>> visible("a\x1b[2J")
    'a\\x1b[2J'
    """
    allowed = _LINES if has_lines else ""

    def written(found: re.Match[str]) -> str:
        return found.group() if found.group() in allowed else repr(found.group())[1:-1]

    return _HARMFUL.sub(written, text)


def excerpt(given: Any, most: int = QUOTED) -> str:
    """
    What was given, not longer than a line, without quotes.

    Parameters
    ----------
    given : object
        Anything.
    most : int
        Characters. [-]

    Returns
    -------
    str
        At most so many characters, all of them visible.

    Examples
    --------
    >>> excerpt("x" * 100, 10)
    'xxxxxxx...'
    """
    text = visible(given[: most + 1]) if isinstance(given, str) else _represented(given)
    return text if len(text) <= most else f"{text[: most - 3]}..."


def quoted(given: Any) -> str:
    """
    What was given as a message repeats it: texts in quotes, cut where they are long.

    Parameters
    ----------
    given : object
        Anything.

    Returns
    -------
    str
        At most `QUOTED` characters between the quotes.

    Examples
    --------
    >>> quoted("four inches")
    "'four inches'"
    """
    if not isinstance(given, str):
        return excerpt(given)
    if len(given) <= QUOTED:
        return repr(given)
    return repr(f"{given[: QUOTED - 3]}...")


def _represented(given: Any) -> str:
    try:
        return repr(given)
    except (RecursionError, ValueError):  # too deep, or an integer of thousands of digits
        return f"a value too {'large' if isinstance(given, int) else 'deep'} to show"


def shortened(text: str, most: int = _LONGEST_PART) -> str:
    """
    Part of a message, its quotes and itself cut where they are long.

    Parameters
    ----------
    text : str
        Any.
    most : int
        Characters. [-]

    Returns
    -------
    str
        All of it visible.
    """

    def cut(found: re.Match[str]) -> str:
        mark = found.group()[0]
        return f"{found.group()[: QUOTED - 2]}...{mark}"

    text = _LONG_QUOTE.sub(cut, text)
    return visible(text if len(text) <= most else f"{text[: most - 3]}...")


def cell(value: Any) -> Any:
    """
    Value for a table that a spreadsheet may open.

    Parameters
    ----------
    value : object
        Number, text or None.

    Returns
    -------
    object
        A text that would be taken for a formula has a ``'`` before it, as the spreadsheets
        themselves write it; numbers, and texts that are numbers, stay.

    Examples
    --------
    >>> cell("=1+1"), cell("-3.5"), cell(-3.5)
    ("'=1+1", '-3.5', -3.5)
    """
    if not isinstance(value, str):
        return value
    text = visible(value, has_lines=True)
    if not text.startswith(_FORMULA) or _is_number(text):
        return text
    return f"'{text}"


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
