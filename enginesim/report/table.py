"""How does a result read as columns of figures?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from enginesim.performance.quoting import is_quotable, quoted
from enginesim.report.units import scale

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.performance import Curve
    from enginesim.report.units import System
    from enginesim.vehicle import Vehicle


@dataclass(frozen=True, slots=True)
class Table:
    """
    Figures as text, ready for a screen or a page.

    Attributes
    ----------
    title : str
        What it shows.
    labels : tuple of str
        Head of each column.
    units : tuple of str
        Unit of each column; all empty where columns are words.
    rows : tuple of tuple of str
        One text for each column.
    is_numeric : bool
        Whether columns are lined up at the right.
    """

    title: str
    labels: tuple[str, ...]
    units: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    is_numeric: bool = True


# Field and head of each column; two tables, so that either fits 80 characters.
_OUTPUT: Final = (
    ("rpm", "speed"),
    ("torque", "torque"),
    ("power", "power"),
    ("ve", "VE"),
    ("bmep", "BMEP"),
    ("bsfc", "BSFC"),
    ("air_flow", "air"),
    ("fuel_flow", "fuel"),
    ("lambda_overall", "lambda"),
    ("manifold_depression", "vacuum"),
)
_CYLINDER: Final = (
    ("rpm", "speed"),
    ("imep_net", "IMEP"),
    ("pmep", "PMEP"),
    ("fmep", "FMEP"),
    ("p_max", "peak p"),
    ("theta_p_max", "at"),
    ("spark", "spark"),
    ("ca50", "CA50"),
    ("knock_margin", "knock"),
    ("residual", "resid"),
    ("inlet_mach", "Mach Z"),
    ("egt", "EGT"),
)


def results(curve: Curve, system: System) -> tuple[Table, Table]:
    """
    Output and consumption, and what goes on in the cylinders, a row for each speed.

    Parameters
    ----------
    curve : Curve
        Results.
    system : {"us", "si"}
        Units.

    Returns
    -------
    tuple of Table
        Two tables; a speed that did not converge carries a star, and dashes for its figures.
    """
    return (
        _by_speed("Output", _OUTPUT, curve, system),
        _by_speed("In the cylinders", _CYLINDER, curve, system),
    )


def _by_speed(
    title: str, columns: tuple[tuple[str, str], ...], curve: Curve, system: System
) -> Table:
    kept = curve.quotable or curve
    scales = [scale(field, system).finer(kept[field]) for field, _ in columns]
    rows = []
    for point in curve.points:
        texts = [
            s.text(quoted(point, field)) for s, (field, _) in zip(scales, columns, strict=True)
        ]
        if not is_quotable(point):
            texts[0] = f"*{texts[0]}"
        rows.append(tuple(texts))
    labels = tuple(label for _, label in columns)
    return Table(title, labels, tuple(s.symbol for s in scales), tuple(rows))


def assumed(case: Case | Vehicle, system: System) -> Table:
    """
    Every value that nobody gave, with its source and band.

    Parameters
    ----------
    case : Case or Vehicle
        The engine, or what it is in.
    system : {"us", "si"}
        Units.

    Returns
    -------
    Table
        A row for each; the band is one standard deviation.
    """
    rows = tuple(
        (a.path, a.value_si if system == "si" else a.value, a.band, a.source) for a in case.assumed
    )
    title = f"Assumed ({len(rows)} values that the {type(case).__name__.lower()} does not give)"
    heads = ("field", "value", "1 sigma", "source")
    return Table(title, heads, ("", "", "", ""), rows, is_numeric=False)


def plain(table: Table) -> str:
    """
    Table as lines of text, columns lined up.

    Parameters
    ----------
    table : Table
        What to write.

    Returns
    -------
    str
        Lines, without a line break at the end.
    """
    heads = [line for line in (table.labels, table.units) if any(line)]
    lines = [*heads, *table.rows]
    widths = [max(len(line[i]) for line in lines) for i in range(len(table.labels))]
    align = str.rjust if table.is_numeric else str.ljust
    texts = ["  ".join(map(align, line, widths)).rstrip() for line in lines]
    rule = ["-" * max(len(text) for text in texts[: len(heads)])] if heads else []
    return "\n".join([table.title, *texts[: len(heads)], *rule, *texts[len(heads) :]])
