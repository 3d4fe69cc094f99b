"""Cylinder numbers, choices and switches as people write them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, Final

from enginesim.base.characters import LONGEST_NAME, LONGEST_NOTES, QUOTED, excerpt, harmful, quoted
from enginesim.base.names import nearest
from enginesim.case.quantities import Unfit, bounds

if TYPE_CHECKING:
    from enginesim.case.facts import Facts

#: What else the trade calls them, loosely written.
_SYNONYMS: Final = {
    "dual plane": "divided plenum",
    "single plane": "single plenum",
    "individual throttle bodies": "individual throttles",
    "itb": "individual throttles",
    "itbs": "individual throttles",
    "velocity stacks": "open stacks",
    "stacks": "open stacks",
    "carb": "carburettor",
    "carburetor": "carburettor",
    "4 1": "4-into-1",
    "4 2 1": "4-into-2-into-1",
    "tri y": "4-into-2-into-1",
    "3 1": "3-into-1",
    "2 1": "2-into-1",
    "cast": "log",
    "cast iron": "log",
    "inline": "in-line",
    "straight": "in-line",
    "v": "vee",
    "boxer": "flat",
    "pushrod": "ohv",
    "push rod": "ohv",
}
# Words that may follow and say no more than the field itself.
_NOUN: Final = re.compile(r"(?<=.) (?:intake|exhaust|manifold|headers?)$")
_OCTANE: Final = re.compile(r"(?:gasoline|gas|petrol)?\s*\d{2,3}")
_TRUE: Final = {"true": True, "yes": True, "on": True, "false": False, "no": False, "off": False}


def integer(facts: Facts, given: Any) -> int:
    """
    A whole number.

    Parameters
    ----------
    facts : Facts
        Of the field.
    given : object
        As it stands in the file.

    Returns
    -------
    int
        Within the range.

    Raises
    ------
    Unfit
        If it is not that.
    """
    if isinstance(given, str) and re.fullmatch(r"\s*[+-]?[0-9]{1,9}\s*", given):
        given = int(given)
    if isinstance(given, bool) or not isinstance(given, int):
        raise Unfit(excerpt(given), "a whole number")
    low, high = bounds(facts)
    if not low <= given <= high:
        raise Unfit(excerpt(given), f"{facts.low} to {facts.high}")
    return given


def integers(given: Any) -> tuple[int, ...]:
    """
    Cylinder numbers, as a list or parted by spaces, commas or hyphens.

    Parameters
    ----------
    given : object
        As it stands in the file.

    Returns
    -------
    tuple of int
        As written.

    Raises
    ------
    Unfit
        If it is not that.
    """
    items = re.split(r"[\s,-]+", given.strip()) if isinstance(given, str) else given
    if not isinstance(items, list):
        items = [items]
    numbers = []
    for item in items:
        if isinstance(item, str) and re.fullmatch(r"[0-9]{1,3}", item):
            numbers.append(int(item))
        elif isinstance(item, int) and not isinstance(item, bool):
            numbers.append(item)
        else:
            raise Unfit(excerpt(given), 'cylinder numbers, such as "1-3-4-2" or [1, 3, 4, 2]')
    return tuple(numbers)


def groups(given: Any) -> tuple[tuple[int, ...], ...]:
    """
    Groups of cylinder numbers, as lists or parted by ``/``.

    Parameters
    ----------
    given : object
        As it stands in the file.

    Returns
    -------
    tuple of tuple of int
        As written.

    Raises
    ------
    Unfit
        If it is not that.
    """
    groups = given.split("/") if isinstance(given, str) else given
    if not isinstance(groups, list) or not groups:
        raise Unfit(excerpt(given), 'groups of cylinder numbers, such as "1 3 5 7 / 2 4 6 8"')
    return tuple(integers(group) for group in groups)


def choice(choices: tuple[str, ...], given: Any) -> str:
    """
    One of a few words, or what the trade calls it, whatever the case, hyphens and spaces.

    Parameters
    ----------
    choices : tuple of str
        What may stand there.
    given : object
        As it stands in the file.

    Returns
    -------
    str
        As the program writes it.

    Raises
    ------
    Unfit
        If it is not that.
    """
    allowed = "one of: " + ", ".join(choices)
    if not isinstance(given, str):
        raise Unfit(excerpt(given), allowed)
    known = {_loose(choice): choice for choice in choices}
    known |= {word: own for word, own in _SYNONYMS.items() if own in choices}
    if len(given) > QUOTED:
        raise Unfit(quoted(given), allowed)
    text = _loose(given)
    while text not in known and _NOUN.search(text):
        text = _NOUN.sub("", text)
    if text in known:
        return known[text]
    raise Unfit(quoted(given), allowed, _hint(given, choices))


def _loose(text: str) -> str:
    return re.sub(r"[\s_-]+", " ", text.strip().lower())


def _hint(given: str, choices: tuple[str, ...]) -> str:
    """What may have been meant by a word that is none of the choices."""
    headers = [choice for choice in choices if "-into-" in choice]
    if headers and re.search(r"\bheaders?\b", given.lower()):
        return f"headers by the way they join: {', '.join(headers)}"
    near = nearest(given, choices)
    hint = f"did you mean {near!r}?" if near else ""
    if _OCTANE.fullmatch(_loose(given)) and any(_OCTANE.fullmatch(choice) for choice in choices):
        other = "another octane: the nearest name, and octane_research and octane_motor besides"
        return f"{hint} {other}".strip()
    return hint


def text(given: Any, *, has_lines: bool = False) -> str:
    """
    A name, or a text of several lines.

    Parameters
    ----------
    given : object
        As it stands in the file.
    has_lines : bool
        Whether line breaks and tabs may stand in it.

    Returns
    -------
    str
        As written.

    Raises
    ------
    Unfit
        If it is no text, too long, or has a character that steers a terminal, turns or breaks the
        line unseen, or is none.
    """
    if not isinstance(given, str):
        raise Unfit(quoted(given), "a text in quotes")
    most = LONGEST_NOTES if has_lines else LONGEST_NAME
    if len(given) > most:
        raise Unfit(f"{quoted(given)}, {len(given)} characters", f"at most {most}")
    number = harmful(given, has_lines=has_lines)
    if number:
        noun = "a text" if has_lines else "a name on one line"
        allowed = f"{noun}, without control characters"
        raise Unfit(f"the character {number} in {quoted(given)}", allowed, "take it out")
    return given


def switch(given: Any) -> bool:
    """
    True or false, also as yes and no.

    Parameters
    ----------
    given : object
        As it stands in the file.

    Returns
    -------
    bool
        What was meant.

    Raises
    ------
    Unfit
        If it is not that.
    """
    if isinstance(given, bool):
        return given
    if isinstance(given, str) and given.strip().lower() in _TRUE:
        return _TRUE[given.strip().lower()]
    raise Unfit(excerpt(given), "true or false")
