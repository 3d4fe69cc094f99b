"""Where does a result come from: program, physics, case, machine and date."""

from __future__ import annotations

import hashlib
import json
import os
import platform
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

#: Raised by one whenever predicted numbers change on purpose.
PHYSICS_VERSION: Final = 10

_LIBRARIES = ("numpy", "numba", "llvmlite", "cantera")
_VECTOR_UNITS = ("sse4_2", "avx", "fma", "avx2", "avx512f", "asimd", "sve")


@dataclass(frozen=True, slots=True)
class Provenance:
    """
    Stamp of a result.

    Attributes
    ----------
    version : str
        Version of the program.
    physics_version : int
        `PHYSICS_VERSION` at the time.
    case_digest : str
        SHA-256 of the canonical case.
    machine : str
        Processor architecture, cores and operating system.
    processor : str
        Its model and the vector units that rounding hangs on, where the system tells them.
    python : str
        Version of Python.
    libraries : str
        Versions of the libraries that numbers hang on.
    date : str
        Coordinated universal time, ISO 8601.
    """

    version: str
    physics_version: int
    case_digest: str
    machine: str
    processor: str
    python: str
    libraries: str
    date: str

    def as_dict(self) -> dict[str, Any]:
        """Plain mapping, for JSON."""
        return asdict(self)


def digest(values: Mapping[str, Any]) -> str:
    """
    SHA-256 of a mapping of plain values, whatever the order of its keys.

    Parameters
    ----------
    values : mapping
        Strings, numbers, booleans, None, and sequences and mappings of them. Floats count
        with every bit.

    Returns
    -------
    str
        64 hexadecimal digits.

    Examples
    --------
    >>> digest({"a": 1.0, "b": 2}) == digest({"b": 2, "a": 1.0})
    True
    """
    text = json.dumps(values, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()


def stamp(case_digest: str) -> Provenance:
    """
    Stamp of a result that is made here and now.

    Parameters
    ----------
    case_digest : str
        From the case.

    Returns
    -------
    Provenance
        All of it.
    """
    from enginesim import __version__

    return Provenance(
        version=__version__,
        physics_version=PHYSICS_VERSION,
        case_digest=case_digest,
        machine=f"{platform.machine()}, {os.cpu_count()} cores, {platform.system()}",
        processor=_processor(),
        python=platform.python_version(),
        libraries=_libraries(),
        date=datetime.now(UTC).isoformat(timespec="seconds"),
    )


@cache
def _libraries() -> str:
    from importlib.metadata import PackageNotFoundError, version

    found = []
    for name in _LIBRARIES:
        try:
            found.append(f"{name} {version(name)}")
        except PackageNotFoundError:
            found.append(f"{name} not installed")
    return ", ".join(found)


@cache
def _processor() -> str:
    """Model and vector units of the processor; what Python knows where Linux does not tell."""
    model, units = platform.processor() or platform.machine(), ""
    try:
        text = Path("/proc/cpuinfo").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return model
    for line in text.partition("\n\n")[0].splitlines():
        key, _, value = line.partition(":")
        match key.strip():
            case "model name":
                model = value.strip()
            case "flags" | "Features":
                present = set(value.split())
                units = " ".join(name for name in _VECTOR_UNITS if name in present)
    return f"{model} ({units})" if units else model
