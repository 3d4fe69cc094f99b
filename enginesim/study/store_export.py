"""How does everything that is stored come out as one table?"""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from enginesim.base.characters import cell
from enginesim.base.errors import StoreError
from enginesim.base.quantity import quantities
from enginesim.base.replacement import replacing

if TYPE_CHECKING:
    from collections.abc import Iterator

    from enginesim.study.store import Store
    from enginesim.study.store_upkeep import Choice

_PLACE = ("case", "name", "fidelity", "physics", "outcome", "reason", "seconds", "date", "version")


def rows(store: Store, choice: Choice) -> Iterator[dict[str, Any]]:
    """
    Points of a store, one after the other.

    Parameters
    ----------
    store : Store
        Where they are.
    choice : Choice
        Which.

    Yields
    ------
    dict of str to object
        Case, outcome, and every field of the result in SI, None where there is none.

    Raises
    ------
    StoreError
        If the store cannot be read.
    """
    from enginesim.performance import Performance

    fields = list(quantities(Performance))
    condition, values = choice.condition()
    query = (
        "SELECT c.digest, c.name, p.fidelity, p.physics, p.is_done, p.kind, p.reason, p.seconds, "
        "p.date, s.version, p.rpm, d.fields FROM points p JOIN cases c ON c.id = p.case_id JOIN "
        "stamps s ON s.id = p.stamp_id LEFT JOIN details d ON d.point_id = p.id WHERE "
        f"{condition} ORDER BY c.id, p.fidelity, p.physics, p.rpm"
    )
    with store.reading() as connection:
        for digest, name, fidelity, physics, is_done, kind, reason, *rest in connection.execute(
            query, values
        ):
            seconds, date, version, rpm, text = rest
            known = json.loads(text) if text else {}
            outcome = "done" if is_done else kind
            head = (digest, name, fidelity, physics, outcome, reason, seconds, date, version)
            body = {field: known.get(field) for field in fields} | {"rpm": rpm}
            yield dict(zip(_PLACE, head, strict=True)) | body


def write_csv(store: Store, path: Path, choice: Choice) -> int:
    """
    Write points as comma-separated values.

    Parameters
    ----------
    store : Store
        Where they are.
    path : Path
        File that is made, or replaced when it is complete.
    choice : Choice
        Which.

    Returns
    -------
    int
        Lines below the heading. [-]
    """
    n = 0
    with replacing(path) as aside, aside.open("w", newline="", encoding="utf-8") as file:
        writer = None
        for row in rows(store, choice):
            if writer is None:
                writer = csv.DictWriter(file, list(row), lineterminator="\n")
                writer.writeheader()
            writer.writerow({head: _shown(head, value) for head, value in row.items()})
            n += 1
    return n


def _shown(head: str, value: Any) -> Any:
    """Value of a cell; infinities, which are text in the store, as every other missing figure."""
    is_missing = head not in _PLACE and value in ("inf", "-inf")
    return None if is_missing else cell(value)


def write_parquet(store: Store, path: Path, choice: Choice) -> int:
    """
    Write points as a Parquet file, fields with their SI units in its schema.

    Parameters
    ----------
    store : Store
        Where they are.
    path : Path
        File that is made, or replaced when it is complete.
    choice : Choice
        Which.

    Returns
    -------
    int
        Rows. [-]

    Raises
    ------
    StoreError
        If pyarrow is not installed.
    """
    try:
        import pyarrow as pa
        import pyarrow.parquet as pq
    except ImportError as error:
        raise StoreError(
            f"{path}: found no pyarrow to write it (install it with: pip install "
            "'enginesim[parquet]'; or write a .csv)"
        ) from error
    schema = pa.schema([pa.field(*column) for column in _schema(pa)])
    n = 0
    with replacing(path) as aside, pq.ParquetWriter(aside, schema) as writer:
        block: list[dict[str, Any]] = []
        for row in rows(store, choice):
            block.append({name: _floats(value, name, schema) for name, value in row.items()})
            n += 1
            if len(block) == 10_000:
                writer.write_table(pa.Table.from_pylist(block, schema))
                block = []
        writer.write_table(pa.Table.from_pylist(block, schema))
    return n


def _schema(pa: Any) -> Iterator[tuple[str, Any, bool, dict[str, str]]]:
    from dataclasses import fields

    from enginesim.performance import Performance

    kinds = {"float": pa.float64(), "int": pa.int64(), "bool": pa.bool_(), "str": pa.string()}
    for name in _PLACE:
        kind = {"physics": "int", "seconds": "float"}.get(name, "str")
        yield name, kinds[kind], True, {}
    known = quantities(Performance)
    for f in fields(Performance):
        meaning = {"unit": known[f.name].unit, "definition": known[f.name].definition}
        yield f.name, kinds.get(str(f.type).removesuffix(" | None"), pa.string()), True, meaning


def _floats(value: Any, name: str, schema: Any) -> Any:
    """Infinities, which are text in the store, as numbers."""
    if isinstance(value, str) and str(schema.field(name).type) == "double":
        return float(value)
    return json.dumps(value) if isinstance(value, list) else value
