"""Into which cells is a duct cut, and what does the kernel need to know of each?"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from enginesim.base.errors import NetworkError
from enginesim.case.numerics import MOST_CELLS
from enginesim.network.pieces import Duct

Array = NDArray[np.float64]
_FINE = 32  # points a cell at which the area law is sampled for the cell's volume


@dataclass(frozen=True, eq=False)
class Mesh:
    """
    Cells of one duct.

    Attributes
    ----------
    dx : float
        Length of a cell. [m]
    face_area : ndarray, shape (n + 1,)
        [m2]
    volume, diameter, wall_temperature, roughness, loss : ndarray, shape (n,)
        Volume [m3], mean diameter [m], wall temperature [K], wall roughness [m] and bend loss per
        length [1/m] of each cell.
    """

    dx: float
    face_area: Array
    volume: Array
    diameter: Array
    wall_temperature: Array
    roughness: Array
    loss: Array


def cut(duct: Duct) -> Mesh:
    """
    Cut a duct into equal cells.

    Parameters
    ----------
    duct : Duct
        The duct.

    Returns
    -------
    Mesh
        Its cells: as many as fit best, but never fewer than the duct's least.

    Raises
    ------
    NetworkError
        If a section has no length or area, or the cells are too many.

    Notes
    -----
    Face areas are the area law's values, volumes its integral by the trapezoidal rule on 32 points
    a cell: second order, and exact sums for plain pipes. A jump between two sections is drawn out
    over one cell (less where a section is shorter): on one face 4:1 would be unstable.
    """
    if any(s.length <= 0.0 or np.min(s.area) <= 0.0 for s in duct.sections):
        msg = f"duct {duct.name}: a section has no length or no area"
        raise NetworkError(msg)
    n = max(duct.least_cells, round(duct.length / duct.cell_size))
    if n > MOST_CELLS:
        msg = (
            f"duct {duct.name}: {n} cells of {1e3 * duct.length / n:.1f} mm, "
            f"at most {MOST_CELLS} (raise numerics.cell_size or shorten the duct)"
        )
        raise NetworkError(msg)
    dx = duct.length / n
    joints = np.concatenate([[0.0], np.cumsum([s.length for s in duct.sections])])
    joints[-1] = duct.length
    faces: Array = np.asarray(dx * np.arange(n + 1), dtype=np.float64)
    faces[-1] = duct.length
    fine: Array = np.linspace(0.0, duct.length, n * _FINE + 1)
    areas = _area(duct, joints, fine, dx)
    pieces = 0.5 * (areas[1:] + areas[:-1]) * (fine[1] - fine[0])
    volume = pieces.reshape(n, _FINE).sum(axis=1)
    middle = 0.5 * (faces[1:] + faces[:-1])
    which = np.clip(np.searchsorted(joints, middle, side="right") - 1, 0, len(duct.sections) - 1)
    return Mesh(
        dx=dx,
        face_area=_area(duct, joints, faces, dx),
        volume=volume,
        diameter=np.sqrt(4.0 * volume / (dx * math.pi)),
        wall_temperature=np.array([s.wall_temperature for s in duct.sections])[which],
        roughness=np.array([s.roughness for s in duct.sections])[which],
        loss=np.array([s.loss / s.length for s in duct.sections])[which],
    )


def _area(duct: Duct, joints: Array, x: Array, dx: float) -> Array:
    """Area at any distances; a jump at a joint is drawn out, straight, over one cell's length."""
    which = np.clip(np.searchsorted(joints, x, side="right") - 1, 0, len(duct.sections) - 1)
    area = np.empty_like(x)
    for k in range(len(duct.sections)):
        inside = which == k
        area[inside] = _section_area(duct, joints, k, x[inside])
    for k in range(1, len(duct.sections)):
        reach = 0.5 * min(dx, joints[k] - joints[k - 1], joints[k + 1] - joints[k])
        ends = np.array([joints[k] - reach, joints[k] + reach])
        before, after = (_section_area(duct, joints, k - 1 + i, ends[i]) for i in range(2))
        left, right = (float(_section_area(duct, joints, k - 1 + i, joints[k])) for i in range(2))
        if abs(right - left) > 1e-9 * left:
            near = np.abs(x - joints[k]) <= reach
            area[near] = np.interp(x[near], ends, [before, after])
    return area


def _section_area(duct: Duct, joints: Array, k: int, x: Array | float) -> Array:
    """Area of a section at distances along the duct."""
    area = duct.sections[k].area
    return np.asarray(np.interp(x, np.linspace(joints[k], joints[k + 1], len(area)), area))


def rough_friction(roughness: Array, diameter: Array) -> Array:
    """
    Darcy friction factor of a fully rough pipe.

    Parameters
    ----------
    roughness : ndarray
        Height of the roughness. [m]
    diameter : ndarray
        [m]

    Returns
    -------
    ndarray
        Friction factor; 0 for a smooth wall. [-]

    Notes
    -----
    Source: von Karman's law for rough pipes, 1/sqrt(f) = 2 log10(3.7 D/e), from memory.
    """
    relative = np.asarray(roughness / diameter)
    safe = np.maximum(relative, 1e-12)
    return np.where(relative > 0.0, (2.0 * np.log10(3.7 / safe)) ** -2.0, 0.0)
