"""How is a result kept in a file, for other programs to read?"""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from enginesim.base.replacement import replacing
from enginesim.performance.quoting import quoted
from enginesim.report.units import file_keys, file_value

if TYPE_CHECKING:
    from collections.abc import Sequence

    from enginesim.base.provenance import Provenance
    from enginesim.case import Case
    from enginesim.performance import Curve, Performance


def speed(point: Performance) -> dict[str, Any]:
    """
    One speed with unit-suffixed keys.

    Parameters
    ----------
    point : Performance
        Results at that speed.

    Returns
    -------
    dict
        The keys of :func:`enginesim.report.units.file_keys`; what is no number, or may not be
        quoted because the speed did not converge, is None.
    """
    return {key: file_value(quoted(point, field), unit) for key, field, unit in file_keys()}


def document(
    case: Case,
    curve: Curve,
    provenance: Provenance,
    *,
    is_complete: bool = True,
    stored: Sequence[tuple[float, str, str]] = (),
) -> dict[str, Any]:
    """
    A result as plain values: case, stamp, what was assumed, and every speed.

    Parameters
    ----------
    case : Case
        The engine.
    curve : Curve
        Its results.
    provenance : Provenance
        Stamp of the document, and of the speeds that were worked out for it.
    is_complete : bool
        Whether every speed that was asked for is there.
    stored : sequence of (float, str, str)
        Speeds that came from a store [rpm], when they were worked out and by which version.

    Returns
    -------
    dict
        For JSON.
    """
    from enginesim.case import write as write_case

    return {
        "case": {
            "name": case.name,
            "notes": case.notes,
            "digest": case.digest,
            "toml": write_case(case),
        },
        "provenance": provenance.as_dict(),
        "complete": is_complete,
        "stored": [{"rpm": rpm, "date": date, "version": version} for rpm, date, version in stored],
        "assumed": [
            {"path": a.path, "value": a.value, "source": a.source, "band": a.band}
            for a in case.assumed
        ],
        "speeds": [speed(point) for point in curve.points],
    }


def json_text(document: dict[str, Any]) -> str:
    """
    A result as JSON.

    Parameters
    ----------
    document : dict
        From :func:`document`.

    Returns
    -------
    str
        Indented, without bare infinities.
    """
    return json.dumps(document, indent=1, allow_nan=False, ensure_ascii=False) + "\n"


def csv_text(curve: Curve) -> str:
    """
    A result as comma-separated values, a line for each speed.

    Parameters
    ----------
    curve : Curve
        Results.

    Returns
    -------
    str
        With a head of unit-suffixed keys; empty where there is no number.
    """
    out = io.StringIO()
    writer = csv.DictWriter(out, [key for key, _, _ in file_keys()], lineterminator="\n")
    writer.writeheader()
    writer.writerows(speed(point) for point in curve.points)
    return out.getvalue()


def write(path: Path, content: str | bytes) -> None:
    """
    Write a file whole or not at all: aside first, then renamed.

    Parameters
    ----------
    path : Path
        Where to; folders on the way are made. An older file stays until the new one is complete.
    content : str or bytes
        What to write; text as UTF-8.

    Raises
    ------
    OSError
        If the place cannot be written.
    """
    data = content.encode() if isinstance(content, str) else content
    path.parent.mkdir(parents=True, exist_ok=True)
    with replacing(path) as aside:
        aside.write_bytes(data)
