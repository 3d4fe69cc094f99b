"""How may a number be written, and how long may it be, before anybody tries to read it?"""

from __future__ import annotations

import re
from typing import Final

#: Most digits of a number in one run; a float holds 17.
MOST_DIGITS: Final = 30
#: Most characters of a text that holds numbers: a lift table has some thousand.
LONGEST_TEXT: Final = 50_000

_LONG_RUN: Final = re.compile(rf"[0-9]{{{MOST_DIGITS + 1}}}")
_LONG_EXPONENT: Final = re.compile(r"[0-9.][eE][+-]?[0-9]{4}")


def doubt(text: str) -> str:
    """
    Why a text with numbers is not read at all.

    Parameters
    ----------
    text : str
        As typed.

    Returns
    -------
    str
        What is wrong, in words; empty if it may be read.

    Notes
    -----
    What reads a text after this takes a time that grows with its length alone, and no number in it
    overflows on the way.

    Examples
    --------
    >>> doubt("9" * 31)
    'a number of more than 30 digits'
    >>> doubt("3.5 in")
    ''
    """
    if len(text) > LONGEST_TEXT:
        return f"a text of more than {LONGEST_TEXT} characters"
    if not text.isascii() and any(c.isdecimal() and not c.isascii() for c in text):
        return "digits of another script: write 0 to 9"
    if _LONG_RUN.search(text):
        return f"a number of more than {MOST_DIGITS} digits"
    if _LONG_EXPONENT.search(text):
        return "too large a number: an exponent of more than 3 digits"
    return ""
