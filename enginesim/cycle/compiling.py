"""Which kernels does a second process compile while this one compiles the others?

Compiling is serial within a process, and the march needs the cylinders last: a machine with two
processors has them in the cache by then.
"""

from __future__ import annotations

import os
import subprocess
import sys
from functools import cache
from typing import Any

import numpy as np

from enginesim.base.jit import compile_only, is_cached
from enginesim.kernels import layout as at
from enginesim.kernels.closed import N_TRACE, closed_cycles
from enginesim.kernels.cylinder import advance
from enginesim.kernels.cylinder_layout import N_CYLINDER, N_PARAMETER
from enginesim.kernels.duct_ends import share_out
from enginesim.kernels.faces import bracketed_faces
from enginesim.kernels.links import flow_links, settle_links
from enginesim.kernels.reservoir import update_reservoirs

_ORDER = "from enginesim.cycle.compiling import compile_share; compile_share()"
_running: list[subprocess.Popen[bytes]] = []  # held, so that none is reaped while it works


@cache
def compile_beside() -> None:
    """
    Start the second process, once, if nothing has been compiled on this machine yet.

    Notes
    -----
    The commands ask for it when they say that kernels are compiled; a function called from Python
    starts no process that its caller did not ask for. Nobody waits for it: a kernel that it has not
    finished is compiled here as well. It ends by itself, and what it compiled serves later runs
    even if this one is interrupted.
    """
    if is_cached() or (os.cpu_count() or 1) < 2 or os.environ.get("NUMBA_DISABLE_JIT") == "1":
        return
    _running.append(
        subprocess.Popen(
            [sys.executable, "-c", _ORDER],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
    )


def share() -> list[tuple[Any, tuple[Any, ...]]]:
    """
    Kernels that the second process compiles, each with arguments of the right types.

    Returns
    -------
    list of (function, tuple)
        In the order in which they are wanted; the values mean nothing.
    """
    cyl, par = np.zeros((1, N_CYLINDER)), np.zeros((1, N_PARAMETER))
    exchange = np.zeros((1, at.N_EXCHANGE))
    res, link = np.zeros((1, at.N_RESERVOIR)), np.zeros((1, at.N_LINK))
    gas, links = np.zeros(at.G_TABLES), np.zeros((1, at.N_LINK_INDEX), dtype=np.int64)
    buffer, ducts = np.zeros(at.BLOCK), np.zeros((1, at.N_DUCT), dtype=np.int64)
    end, ends = np.zeros((2, at.N_END)), np.zeros((2, at.N_END_INDEX), dtype=np.int64)
    for constant in (gas, links, ducts, ends):
        constant.setflags(write=False)
    place, n = np.uint64(0), np.uint64(0)
    trace = np.zeros((0, N_TRACE))
    return [
        (advance, (cyl[0], par[0], gas, *(0.0,) * 7)),
        (bracketed_faces, (buffer, place, n)),
        (share_out, (buffer, ducts, 0, 0, ends, end, res, exchange, gas, 0.0)),
        (settle_links, (links, link, res, 0.0)),
        (flow_links, (res, links, link, gas, 0.0)),
        (update_reservoirs, (res, gas, 0.0)),
        (closed_cycles, (cyl, par, gas, 0.0, 0.0, 1, cyl, par, trace)),
    ]


def compile_share() -> None:
    """Compile them into the cache."""
    for kernel, arguments in share():
        compile_only(kernel, arguments)
