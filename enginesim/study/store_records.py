"""How is the record of a cycle packed, so that it can be kept beside its result?"""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from dataclasses import fields
from math import isnan, nan
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from enginesim.case import Case
    from enginesim.cycle import CycleRecord

_PLAIN = "plain"  # entry that holds, as JSON, all that is no array


def checksum(data: bytes) -> str:
    """
    SHA-256 of what is kept.

    Parameters
    ----------
    data : bytes
        Any.

    Returns
    -------
    str
        64 hexadecimal digits.
    """
    return hashlib.sha256(data).hexdigest()


def to_bytes(record: CycleRecord) -> bytes:
    """
    Record of a cycle, compressed.

    Parameters
    ----------
    record : CycleRecord
        With traces or without.

    Returns
    -------
    bytes
        A zip file of arrays, and of one text for the rest.
    """
    import numpy as np

    arrays: dict[str, Any] = {}
    plain: dict[str, Any] = {}
    for f in fields(record):
        value = getattr(record, f.name)
        if f.name == "case":
            continue  # the store keeps it once for all its speeds
        if f.name == "tracts":
            plain["tracts"] = [
                [tract.name, tract.side, tract.cylinder, tract.marks] for tract in value
            ]
            for i, tract in enumerate(value):
                arrays[f"tract_cells_{i}"] = tract.cells
                arrays[f"tract_distance_{i}"] = tract.distance
        elif isinstance(value, np.ndarray):
            arrays[f.name] = value
        else:
            plain[f.name] = None if isinstance(value, float) and isnan(value) else value
    arrays[_PLAIN] = np.array(json.dumps(plain))
    out = io.BytesIO()
    np.savez_compressed(out, **arrays)
    return out.getvalue()


def from_bytes(data: bytes, case: Case | None = None) -> CycleRecord | None:
    """
    Record that was packed by :func:`to_bytes`.

    Parameters
    ----------
    data : bytes
        What was kept.
    case : Case, optional
        The engine that it was kept for.

    Returns
    -------
    CycleRecord or None
        None where records have changed since and this one cannot be read any more.
    """
    import numpy as np

    from enginesim.cycle.record import CycleRecord, Tract

    try:
        with np.load(io.BytesIO(data), allow_pickle=False) as kept:
            arrays = {name: kept[name] for name in kept.files}
        values: dict[str, Any] = json.loads(str(arrays.pop(_PLAIN)))
        values["tracts"] = tuple(
            Tract(
                name,
                side,
                cylinder,
                arrays.pop(f"tract_cells_{i}"),
                arrays.pop(f"tract_distance_{i}"),
                tuple((mark, at) for mark, at in marks),
            )
            for i, (name, side, cylinder, marks) in enumerate(values["tracts"])
        )
        for f in fields(CycleRecord):
            kind = str(f.type)
            if kind == "float" and values.get(f.name, 0.0) is None:
                values[f.name] = nan
            elif kind.startswith("tuple") and f.name in values and f.name != "tracts":
                values[f.name] = tuple(
                    tuple(item) if isinstance(item, list) else item for item in values[f.name]
                )
        return CycleRecord(case=case, **values, **arrays)
    except (KeyError, TypeError, ValueError, zipfile.BadZipFile):
        return None
