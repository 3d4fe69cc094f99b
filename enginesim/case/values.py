"""From what a case file says to what the code sees, kind by kind."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from enginesim.base.characters import LONGEST_NAME, LONGEST_NOTES, harmful, quoted
from enginesim.base.numerals import LONGEST_TEXT
from enginesim.case import quantities, words
from enginesim.case.quantities import PAIR_EXAMPLE, Converted, Unfit, range_text

if TYPE_CHECKING:
    from enginesim.case.facts import Field

#: Most values of a list: a lift table of a whole turn in steps of a tenth of a degree has 3600.
MOST_VALUES: Final = 5000


def convert(spot: Field, given: Any) -> Converted:
    """
    Value of a field in SI.

    Parameters
    ----------
    spot : Field
        The field.
    given : object
        What TOML, an override or a default says.

    Returns
    -------
    Converted
        In SI, within the field's range.

    Raises
    ------
    Unfit
        If it is no such value; says what is allowed and what was likely meant.
    """
    _require_plain(spot, given)
    match spot.kind:
        case "value":
            return quantities.value(spot.facts, given)
        case "values":
            return quantities.values(spot.facts, given)
        case "pairs":
            return quantities.pairs(spot.facts, given)
        case "integer":
            return Converted(words.integer(spot.facts, given))
        case "integers":
            return Converted(words.integers(given))
        case "groups":
            return Converted(words.groups(given))
        case "choice":
            return Converted(words.choice(spot.choices, given))
        case "switch":
            return Converted(words.switch(given))
        case _:
            return Converted(words.text(given, has_lines=spot.facts.has_lines))


def _require_plain(spot: Field, given: Any) -> None:
    if isinstance(given, list) and len(given) > MOST_VALUES:
        raise Unfit(f"a list of {len(given)} values", f"at most {MOST_VALUES}")
    if spot.kind != "text" and isinstance(given, str) and len(given) > LONGEST_TEXT:
        raise Unfit(quoted(given), f"a text of at most {LONGEST_TEXT} characters")
    texts = given if isinstance(given, list) else [given]
    number = next((found for text in texts if (found := _harmful(text))), "")
    if spot.kind != "text" and number:
        raise Unfit(f"the character {number} in {quoted(given)}", wanted(spot), "take it out")


def _harmful(text: Any) -> str:
    return harmful(text, has_lines=True) if isinstance(text, str) else ""


def wanted(spot: Field) -> str:
    """
    What may stand in a field, in words.

    Parameters
    ----------
    spot : Field
        The field.

    Returns
    -------
    str
        Such as ``a length such as "100 mm", 20 mm to 300 mm``.
    """
    facts = spot.facts
    match spot.kind:
        case "choice":
            return "one of: " + ", ".join(spot.choices)
        case "integer":
            return f"a whole number, {facts.low} to {facts.high}"
        case "value" | "values":
            many = "a list of values, each " if spot.kind == "values" else ""
            text = many + quantities.a(facts.dimension)
            if facts.us:
                text += f" ({facts.us})" if facts.us == facts.si else f" ({facts.us}, {facts.si})"
            return text + range_text(facts)
        case "pairs":
            return f"pairs such as {PAIR_EXAMPLE.get(facts.at_dimension, '2.0 in @ 0')}"
        case "integers" | "groups":
            return "cylinder numbers" + (" in groups" if spot.kind == "groups" else "")
        case "switch":
            return "true or false"
        case _:
            many = f"a text of up to {LONGEST_NOTES} characters"
            return many if facts.has_lines else f"a name of up to {LONGEST_NAME} characters"
