"""How are the numerical kernels compiled, and where does their machine code live?

numba caches a function by the time stamp of its own file only: after an edit in one file the
cached caller in another goes on returning the old answer. The cache folder is therefore named
by a digest of *all* kernel sources and the numba version, so that any edit starts afresh.
"""

from __future__ import annotations

import gc
import hashlib
import importlib
import shutil
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import numba
from numba import config
from numba.core import event
from numba.extending import register_jitable

from enginesim.base.folders import cache_root
from enginesim.base.formula import PENDING

F = TypeVar("F", bound=Callable[..., Any])

_PACKAGE = Path(__file__).resolve().parent.parent
# No counted references (`_nrt`): kernels allocate nothing, and a step is a tenth faster without.
# Fused multiply-add only: no flag that lets the compiler assume away NaN or infinity.
_FAST = {"contract"}
_STALE_AFTER = 7 * 24 * 3600.0


def source_stamp(package: Path = _PACKAGE) -> str:
    """
    Digest of all that decides what a compiled kernel does.

    Parameters
    ----------
    package : Path
        Folder of the package whose kernels are meant.

    Returns
    -------
    str
        First 16 hexadecimal digits of a SHA-256 over every formula and kernel, the constants,
        this file, the folder (numba does not find what the same sources elsewhere compiled) and the
        numba version.
    """
    digest = hashlib.sha256(f"{numba.__version__} {package}".encode())
    sources = [p for room in ("formulas", "kernels") for p in sorted((package / room).glob("*.py"))]
    sources += [package / "base" / name for name in ("constants.py", "formula.py", "jit.py")]
    for path in sources:
        digest.update(path.name.encode())
        digest.update(path.read_bytes() if path.exists() else b"")
    return digest.hexdigest()[:16]


def _cache_folder() -> Path:
    folder = cache_root() / "kernels" / source_stamp()
    if not folder.exists():
        folder.mkdir(parents=True, exist_ok=True)
        for other in folder.parent.iterdir():
            is_stale = time.time() - other.stat().st_mtime > _STALE_AFTER
            if other != folder and is_stale:
                shutil.rmtree(other, ignore_errors=True)
    return folder


if TYPE_CHECKING:

    def kernel(function: F) -> F:
        """Compile a loop over arrays."""
        return function

else:

    class _NoCollection(event.Listener):
        """Pause the search for reference cycles while numba compiles: a tenth of its time."""

        def __init__(self):
            self.depth = 0
            self.was_on = False

        def on_start(self, _event):
            if self.depth == 0:
                self.was_on = gc.isenabled()
                gc.disable()
            self.depth += 1

        def on_end(self, _event):
            self.depth -= 1
            if self.depth == 0 and self.was_on:
                gc.enable()

    def _spare_blas():
        """Load numba's array functions, which would import a BLAS that no kernel uses."""
        if "scipy.linalg" not in sys.modules:
            sys.modules["scipy.linalg"] = None
            try:
                importlib.import_module("numba.np.arraymath")
            finally:
                del sys.modules["scipy.linalg"]

    _spare_blas()
    event.register("numba:compile", _NoCollection())
    _CACHE = _cache_folder()

    _OPTIONS = {"nogil": True, "error_model": "numpy", "fastmath": _FAST, "_nrt": False}

    def _register_formulas():
        """Tell numba of the formulas marked since: those that the next kernel can name."""
        while PENDING:
            register_jitable(
                forceinline=True, no_cpython_wrapper=True, no_cfunc_wrapper=True, **_OPTIONS
            )(PENDING.pop())

    def kernel(function):
        """Compile a loop over arrays; formulas that its module imported are inlined."""
        _register_formulas()
        previous, config.CACHE_DIR = config.CACHE_DIR, str(_CACHE)
        try:
            return numba.njit(cache=True, no_cfunc_wrapper=True, **_OPTIONS)(function)
        finally:
            config.CACHE_DIR = previous


def compile_only(kernel: Any, arguments: tuple[Any, ...]) -> None:
    """
    Compile a kernel into the cache without running it.

    Parameters
    ----------
    kernel : function
        Made by :func:`kernel`.
    arguments : tuple
        Of the types that it is to be compiled for; their values mean nothing.
    """
    kernel.compile(tuple(map(numba.typeof, arguments)))


def is_cached() -> bool:
    """
    Whether any kernel of this source state has been compiled on this machine before.

    Returns
    -------
    bool
        False means that the next run compiles first, which takes some seconds.
    """
    return any((cache_root() / "kernels" / source_stamp()).rglob("march*.nbi"))
