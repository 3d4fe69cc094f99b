"""
Scalar formulas: plain functions to Python, inlined into the loops that compiled kernels make.

Nothing here loads a compiler; :mod:`enginesim.base.jit` registers what was marked.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

F = TypeVar("F", bound=Callable[..., Any])

#: Formulas marked so far that the compiler has not been told of.
PENDING: list[Callable[..., Any]] = []


def formula(function: F) -> F:
    """
    Mark a scalar formula: floats in, floats out, no checks.

    Parameters
    ----------
    function : function
        Only arithmetic, `math`, other formulas, and indexing of arrays.

    Returns
    -------
    function
        The same one: Python calls it as it stands, a kernel has it inlined.
    """
    PENDING.append(function)
    return function
