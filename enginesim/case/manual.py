"""The reference of the case file as a page, made from the fields themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from enginesim.base.characters import LONGEST_NAME, LONGEST_NOTES
from enginesim.base.errors import MOST_SHOWN
from enginesim.base.numerals import MOST_DIGITS
from enginesim.base.text_file import LARGEST
from enginesim.base.units import HIGHEST_POWER
from enginesim.case.facts import fields_of
from enginesim.case.lines import DEEPEST
from enginesim.case.tree import Case
from enginesim.case.values import MOST_VALUES, wanted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from enginesim.case.facts import Field, Part

_INTRODUCTION: Final = f"""\
# The case file

<!-- Made from the fields by `enginesim.case.manual`; change them, then this page with
`python -m enginesim.case.manual docs`. -->

A case is a TOML file. A value with a dimension is a text with its unit, as the trade writes it:
`bore = "4.030 in"`, `chamber_volume = "64 cc"`, `temperature = "77 degF"`. Angles (deg), ratios,
counts and engine speeds (rpm) may be bare numbers. Beyond that:

* **Fractions** as on a ruler: `primary_diameter = "1-3/4 in"`, `stem_diameter = "11/32 in"`.
* **Lists** share one unit: `lift = "0.1 0.2 0.3 0.4 in"`.
* **A reference** follows `@`: `flow = "650 cfm @ 1.5 inHg"`,
  `durations = "280 @ 0.006 in, 214 @ 0.050 in"`.
* **A band**, one standard deviation, follows `+-`: `valve_lift = "0.480 in +- 0.005"`, or `+- 2 %`.
  Of a list it is that of each number, all off together; before an `@`, that of what stands there:
  `durations = "214 +- 1 @ 0.050 in"`.
* **Groups** of cylinders: `banks = "1 3 5 7 / 2 4 6 8"`.
* **Parts**: any table may be the name of a file with the table's content, found beside the file
  that names it: `cam = "parts/touring.toml"`.
* **Overrides** on the command line: `--set cam.lobe_separation=112`,
  `--set cam=parts/touring.toml`. A rocker ratio that is changed so means other rockers on the same
  cam: the valve's lift goes with it, and is told; give the lift as well if it is to stay. A
  measured `lift_table` keeps the ratio with which it was measured, and its lift follows too. A
  change replaces what says the same thing in another way (`cam.advance` the intake centerline);
  the warnings say what was replaced and what is held.

About twelve numbers are needed, marked **needed** below; all others have defaults, which
`enginesim check` lists with their sources and bands, and `enginesim new` writes into the file.
The [JSON schema](case.schema.json) says the same to an editor.

## What is too long

Nobody writes these in earnest; a file that has them was damaged or made by a machine, and is
refused in words, at once ([why](decisions/0034-names-and-limits-of-input.md)):

* a file of over {LARGEST // 10**6} MB, or one that is no ordinary file;
* keys, tables or lists nested more than {DEEPEST} deep, a list of more than {MOST_VALUES} values;
* a number of more than {MOST_DIGITS} digits, or with an exponent of more than three; digits are
  0 to 9;
* a unit with a power above {HIGHEST_POWER}; a band of more than half the range of its field;
* a name of more than {LONGEST_NAME} characters or with a line break, notes of more than
  {LONGEST_NOTES}; in either, and in the name of a file, a character that steers a terminal, turns
  the direction of a line, or is none (half of a pair, `U+FFFF`). Everything else may stand in a
  name, dollar signs included.

Of many problems the first {MOST_SHOWN} are told, and how many there are besides.
"""


def manual() -> str:
    """
    Page of the manual.

    Returns
    -------
    str
        Markdown; one table of fields for each table of the file.
    """
    return "\n".join([_INTRODUCTION, *tables(Case)]).rstrip() + "\n"


def tables(model: type[Part], prefix: str = "", help_text: str = "") -> Iterator[str]:
    """
    Tables of the fields under a model.

    Parameters
    ----------
    model : type of Part
        Where to begin.
    prefix : str
        Path of the model itself, with its last dot. [-]
    help_text : str
        What the model is. [-]

    Yields
    ------
    str
        Lines of Markdown.
    """
    fields = fields_of(model)
    plain = [(key, spot) for key, spot in fields.items() if spot.part is None]
    if plain:
        yield f"## `[{prefix[:-1]}]`\n" if prefix else "## At the top\n"
        if help_text:
            yield f"{help_text}.\n"
        yield "| Field | Meaning | Allowed | Default | 1 sigma | Source of the default |"
        yield "|---|---|---|---|---|---|"
        for key, spot in plain:
            yield _row(key, spot)
        yield ""
    for key, spot in fields.items():
        if spot.part is not None:
            yield from tables(spot.part, f"{prefix}{key}.", spot.facts.help)


def _row(key: str, spot: Field) -> str:
    facts = spot.facts
    help_text = facts.help.replace("``", "`")
    cells = [f"`{key}`", help_text, wanted(spot), _default(spot), facts.band, facts.source]
    return "| " + " | ".join(cell.replace("|", "\\|") or " " for cell in cells) + " |"


def _default(spot: Field) -> str:
    facts = spot.facts
    if facts.default is not None:
        return facts.default or "empty"
    if facts.derived:
        return facts.derived
    return "none" if spot.optional else "**needed**"


if __name__ == "__main__":
    import json
    import sys
    from pathlib import Path

    from enginesim.case.schema import schema

    folder = Path(sys.argv[1])
    (folder / "case.md").write_text(manual(), encoding="utf-8")
    text = json.dumps(schema(), indent=1, ensure_ascii=False) + "\n"
    (folder / "case.schema.json").write_text(text, encoding="utf-8")
