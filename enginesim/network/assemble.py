"""How do the pieces of a plan become the flat arrays that the kernels march?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from enginesim.base.errors import NetworkError
from enginesim.kernels import layout as at
from enginesim.kernels.cylinder_layout import N_PARAMETER
from enginesim.network.elimination import Coupling, coupling
from enginesim.network.mesh import Mesh, cut, rough_friction
from enginesim.network.pieces import End, Plan

Array = NDArray[np.float64]
Index = NDArray[np.int64]

_KINDS = {
    "closed": at.END_CLOSED,
    "valve": at.END_VALVE,
    "volume": at.END_VOLUME,
    "ambient": at.END_AMBIENT,
}
_SIDES = {"intake": 0, "exhaust": 1}


@dataclass(frozen=True, eq=False)
class Network:
    """
    The arrays of one engine that never change during a run; all read-only.

    Attributes
    ----------
    mesh : ndarray, shape (n_group * BLOCK,)
        Duct buffer with the geometry rows filled; a state starts as a copy of it.
    groups, ducts, ends, links : ndarray
        Integer tables, see :mod:`enginesim.kernels.layout`.
    end, res, link : ndarray
        Float tables with their parameters; a state starts as a copy of them.
    par : ndarray, shape (n_cylinder, N_PARAMETER)
        Parameters of the cylinders.
    phase : ndarray, shape (n_cylinder,)
        Engine angle of each firing top dead centre. [rad]
    valve_area : ndarray, shape (n_angle, 4)
        Effective areas over the own angle. [m2]
    gas : ndarray, shape (n_gas,)
        Gas array.
    plan : Plan
        The pieces, for names and places.
    meshes : tuple of Mesh
        Cells of each duct.
    coupling : Coupling or None
        How volumes and cylinders answer one another; None with ducts.
    """

    mesh: Array
    groups: Index
    ducts: Index
    ends: Index
    links: Index
    end: Array
    res: Array
    link: Array
    par: Array
    phase: Array
    valve_area: Array
    gas: Array
    plan: Plan
    meshes: tuple[Mesh, ...]
    coupling: Coupling | None

    def __post_init__(self) -> None:
        for name in (
            "mesh",
            "groups",
            "ducts",
            "ends",
            "links",
            "end",
            "res",
            "link",
            "par",
            "phase",
            "valve_area",
            "gas",
        ):
            getattr(self, name).setflags(write=False)

    @property
    def n_cells(self) -> int:
        """Duct cells, ghosts not counted."""
        return int(self.ducts[:, at.D_COUNT].sum())


def assemble(
    plan: Plan,
    gas: Array,
    *,
    par: Array | None = None,
    phase: Array | None = None,
    valve_area: Array | None = None,
) -> Network:
    """
    Mesh a plan and lay it out in arrays.

    Parameters
    ----------
    plan : Plan
        The pieces.
    gas : ndarray, shape (n_gas,)
        Gas array. [-]
    par : ndarray, shape (n_cylinder, N_PARAMETER), optional
        Parameters of the cylinders; none without cylinders. [-]
    phase : ndarray, shape (n_cylinder,), optional
        Engine angle of each firing top dead centre. [rad]
    valve_area : ndarray, shape (n_angle, 4), optional
        Effective areas over the own angle: intake forward, back, exhaust forward, back. [m2]

    Returns
    -------
    Network
        The arrays.

    Raises
    ------
    NetworkError
        If a duct cannot be meshed or an end or link names what is not there.

    Notes
    -----
    Groups are filled first-fit in order of length, so that a group holds about as many cells as
    a row; the kernel's passes run over a group at a time.
    """
    _check(plan)
    meshes = tuple(cut(duct) for duct in plan.ducts)
    ducts, groups = _placed([len(m.volume) for m in meshes])
    mesh = np.zeros(len(groups) * at.BLOCK)
    _pad(mesh)
    for k, piece in enumerate(meshes):
        _write_geometry(mesh, ducts[k], piece)
    n = plan.n_cylinders
    return Network(
        mesh=mesh,
        groups=groups,
        ducts=ducts,
        ends=np.array(
            [_end_index(e) for d in plan.ducts for e in (d.start, d.finish)], dtype=np.int64
        ).reshape(-1, at.N_END_INDEX),
        links=np.array(
            [
                (
                    k.start,
                    k.finish,
                    at.LINK_VALVE if k.valve else at.LINK_ORIFICE,
                    _SIDES[k.valve or "intake"],
                )
                for k in plan.links
            ],
            dtype=np.int64,
        ).reshape(-1, at.N_LINK_INDEX),
        end=np.array(
            [
                _end_values(e, area)
                for d, m in zip(plan.ducts, meshes, strict=True)
                for e, area in ((d.start, m.face_area[0]), (d.finish, m.face_area[-1]))
            ]
        ).reshape(-1, at.N_END),
        res=_reservoirs(plan, meshes),
        link=np.array(
            [[k.area, k.area_back, k.fuel] + [0.0] * (at.N_LINK - 3) for k in plan.links]
        ).reshape(-1, at.N_LINK),
        par=np.zeros((n, N_PARAMETER)) if par is None else par,
        phase=np.zeros(n) if phase is None else phase,
        valve_area=np.zeros((2, 4)) if valve_area is None else valve_area,
        gas=gas,
        plan=plan,
        meshes=meshes,
        coupling=None if plan.ducts else coupling(plan),
    )


def _check(plan: Plan) -> None:
    for duct in plan.ducts:
        for end in (duct.start, duct.finish):
            limit = plan.n_cylinders if end.kind == "valve" else len(plan.volumes)
            if end.kind != "closed" and not 0 <= end.target < limit:
                msg = f"duct {duct.name}: its {end.kind} number {end.target} does not exist"
                raise NetworkError(msg)
    for link in plan.links:
        limit = plan.n_cylinders if link.valve else len(plan.volumes)
        if not (0 <= link.start < len(plan.volumes) and 0 <= link.finish < limit):
            msg = f"link {link.name}: joins {link.start} and {link.finish}, one does not exist"
            raise NetworkError(msg)
        if link.valve and plan.ducts:
            msg = f"link {link.name}: a valve beside ducts must end one of them"
            raise NetworkError(msg)


def _placed(counts: list[int]) -> tuple[Index, Index]:
    """Duct table and group table for ducts of these many cells, in their given order."""
    ducts = np.zeros((len(counts), at.N_DUCT), dtype=np.int64)
    groups: list[list[int]] = []
    used = at.GROUP_CELLS
    for k, n in enumerate(counts):
        if used + n + 2 > at.GROUP_CELLS:
            groups.append([0, k, k])
            used = 0
        ducts[k] = (len(groups) - 1, used + 1, n)
        used += n + 2
        # The passes run over all cells but the first and the last, four at a time.
        groups[-1][0] = used + (2 - used) % 4
        groups[-1][2] = k + 1
    return ducts, np.array(groups, dtype=np.int64).reshape(-1, 3)


def _pad(mesh: Array) -> None:
    """Give every cell a valid state, so that padding and ghosts never breed what is no number."""
    rows = mesh.reshape(-1, at.N_ROWS, at.STRIDE)
    rows[:, at.R_RHO] = 1.0
    rows[:, at.R_P] = 1e5
    rows[:, at.R_T] = 300.0
    rows[:, at.R_T_WALL] = 300.0
    rows[:, at.R_A] = 340.0
    rows[:, at.R_AREA] = 1e-3
    rows[:, at.R_INVERSE_AREA] = 1e3
    rows[:, at.R_MEAN_AREA] = 1e-3
    rows[:, at.R_DIAMETER] = 0.03
    for edge in (at.R_LEFT, at.R_RIGHT):
        rows[:, edge] = 1.0
        rows[:, edge + 2] = 1e5


def _write_geometry(mesh: Array, place: Index, piece: Mesh) -> None:
    group, first, n = (int(v) for v in place)
    rows = mesh.reshape(-1, at.N_ROWS, at.STRIDE)[group]
    cells = slice(first, first + n)
    rows[at.R_AREA, first : first + n + 1] = piece.face_area
    rows[at.R_INVERSE_VOLUME, cells] = 1.0 / piece.volume
    rows[at.R_INVERSE_DX, cells] = 1.0 / piece.dx
    rows[at.R_INVERSE_AREA, first : first + n + 1] = 1.0 / piece.face_area
    mean_area = piece.volume / piece.dx
    rows[at.R_MEAN_AREA, cells] = mean_area
    rows[at.R_MEAN_AREA, [first - 1, first + n]] = mean_area[[0, -1]]  # ghosts: as their cells
    rows[at.R_TAPER, cells] = np.diff(piece.face_area) / piece.volume
    rows[at.R_DIAMETER, cells] = piece.diameter
    rows[at.R_ROUGH, cells] = rough_friction(piece.roughness, piece.diameter) ** 4
    rows[at.R_BEND, cells] = 0.5 * piece.loss
    rows[at.R_T_WALL, cells] = piece.wall_temperature


def _end_index(end: End) -> tuple[int, int, int, int]:
    return _KINDS[end.kind], end.target, _SIDES[end.side], int(end.injects)


def _end_values(end: End, area: float) -> list[float]:
    given = [area, min(end.ratio_out, 1.0), min(end.ratio_in, 1.0), end.evaporated]
    return given + [0.0] * (at.N_END - len(given))


def _reservoirs(plan: Plan, meshes: tuple[Mesh, ...]) -> Array:
    res = np.zeros((len(plan.volumes), at.N_RESERVOIR))
    for i, volume in enumerate(plan.volumes):
        res[i, at.V_VOLUME] = volume.volume
        if volume.wall is not None:
            wall = volume.wall
            res[i, at.V_WALL_T : at.V_WALL_ROUGH + 1] = (
                wall.temperature, wall.way, wall.still, wall.reach, wall.rough_fourth
            )  # fmt: skip
    for duct, mesh in zip(plan.ducts, meshes, strict=True):
        for end, face in ((duct.start, mesh.face_area[0]), (duct.finish, mesh.face_area[-1])):
            if end.kind == "volume":
                res[end.target, at.V_OPENING] += face
    for link in plan.links:
        for i in (link.start,) if link.valve else (link.start, link.finish):
            res[i, at.V_OPENING] += max(link.area, link.area_back)
    res[:, at.V_OPENING] /= np.where(res[:, at.V_VOLUME] > 0.0, res[:, at.V_VOLUME], np.inf)
    return res
