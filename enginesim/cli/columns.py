"""Which columns of a table go side by side on a screen, and how wide is each?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

#: Spaces between two columns.
GAP: Final = 2
# Room that a column of words gets before columns go into another table. [-]
_READABLE: Final = 20


@dataclass(frozen=True, slots=True)
class Column:
    """
    Room that a column takes.

    Attributes
    ----------
    least : int
        Characters with which no word and no number is broken. [-]
    most : int
        Characters with which nothing is wrapped. [-]
    """

    least: int
    most: int


def column(head: str, unit: str, cells: Sequence[str], *, is_numeric: bool) -> Column:
    """
    Measure a column.

    Parameters
    ----------
    head : str
        Its head, which may be wrapped between words.
    unit : str
        Line below it, which is never wrapped.
    cells : sequence of str
        What stands in it.
    is_numeric : bool
        Whether the cells are figures, which are never wrapped.

    Returns
    -------
    Column
        Room that it takes.

    Examples
    --------
    >>> column("average torque", "lb-ft", ("317.4",), is_numeric=True)
    Column(least=7, most=14)
    """
    most = max(map(len, (head, unit, *cells)))
    words = head.split()
    for cell in cells:
        words += [cell] if is_numeric else cell.split()
    return Column(max(map(len, (unit, *words))), most)


def naming(rows: Sequence[Sequence[str]]) -> int:
    """
    Columns at the left that it takes to tell rows apart.

    Parameters
    ----------
    rows : sequence of sequence of str
        Cells.

    Returns
    -------
    int
        One, where not even all columns do. [-]

    Examples
    --------
    >>> naming((("110", "3 L", "325.3"), ("110", "4 L", "324.8")))
    2
    """
    n_columns = len(rows[0]) if rows else 0
    for n in range(1, n_columns):
        if len({tuple(row[:n]) for row in rows}) == len(rows):
            return n
    return 1


def arranged(columns: Sequence[Column], room: int, n_naming: int = 1) -> tuple[dict[int, int], ...]:
    """
    Columns of one or more tables, one below the other, that are no wider than the screen.

    Parameters
    ----------
    columns : sequence of Column
        All columns.
    room : int
        Characters in a line of the screen. [-]
    n_naming : int
        Columns that name the rows; the first alone, where these fill half of the screen. [-]

    Returns
    -------
    tuple of dict of int to int
        Characters of each column, by its number, for each table. Those that name the rows are in
        all.

    Examples
    --------
    >>> arranged((Column(5, 5), Column(6, 6), Column(4, 4)), 15)
    ({0: 5, 1: 6}, {0: 5, 2: 4})
    """
    names = range(n_naming)
    if _total(_readable(columns[i]) for i in names) > room // 2:
        names = range(1)
    tables = [[*names]]
    for i in range(len(names), len(columns)):
        beside = [columns[k] for k in (*tables[-1], i)]
        if len(tables[-1]) > len(names) and _total(map(_readable, beside)) > room:
            tables.append([*names])
        tables[-1].append(i)
    return tuple(
        dict(zip(table, _shared([columns[k] for k in table], room), strict=True))
        for table in tables
    )


def _readable(wanted: Column) -> int:
    return min(wanted.most, max(wanted.least, _READABLE))


def _total(widths: Iterable[int]) -> int:
    each = list(widths)
    return sum(each) + GAP * (len(each) - 1)


def _shared(columns: list[Column], room: int) -> list[int]:
    """What is left over goes to the narrowest that wants more; what is missing, from the widest."""
    widths = [wanted.least for wanted in columns]
    spare = room - _total(widths)
    for _ in range(spare):
        wanting = [i for i, wanted in enumerate(columns) if widths[i] < wanted.most]
        if not wanting:
            break
        widths[min(wanting, key=widths.__getitem__)] += 1
    for _ in range(-spare):
        widest = max(range(len(widths)), key=widths.__getitem__)
        widths[widest] = max(widths[widest] - 1, 1)
    return widths
