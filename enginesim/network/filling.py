"""What is left of an engine when every duct is one volume with a lossy opening?

This is the fidelity `filling`: no waves, only filling and emptying. It shows what waves do, serves
lessons, and must agree with `wave` where waves have time to die away.
"""

from __future__ import annotations

import math

import numpy as np

from enginesim.kernels.wall import BLASIUS_FOURTH
from enginesim.network.mesh import Mesh, cut, rough_friction
from enginesim.network.pieces import Duct, End, Link, Plan, Volume, Wall

REYNOLDS = 5e4  # of the friction factor of a duct's wall: an intake runner at mid speed


def without_ducts(plan: Plan) -> Plan:
    """
    Replace each duct by a volume with its walls; its ends become orifices.

    Parameters
    ----------
    plan : Plan
        Pieces with ducts.

    Returns
    -------
    Plan
        The same engine in volumes and links only.

    Notes
    -----
    An opening loses what the duct's entry, walls and bends cost at its flow, and the velocity head
    of what leaves the duct, unless a valve stands at its other end: gas on its way to a valve keeps
    its head up to there, and gas that comes from one has its head from the valve's jet. Fuel that
    a port injector evaporates evaporates in that opening.
    Equation `opening-loss` of docs/theory/filling.md.
    """
    result = Plan([], list(plan.volumes), list(plan.links), plan.n_cylinders)
    for duct in plan.ducts:
        mesh = cut(duct)
        size = float(mesh.volume.sum())
        volume = result.add_volume(
            Volume(duct.name, size, duct.p, duct.t, duct.y_b, duct.y_f, _wall(mesh))
        )
        ends = (duct.start, duct.finish)
        injected = max(end.evaporated for end in ends)
        n_open = sum(end.kind != "valve" and end.kind != "closed" for end in ends)
        loss = _loss(mesh) / max(n_open, 1)
        keeps_head = any(end.kind == "valve" for end in ends)
        for end, area in zip(ends, mesh.face_area[[0, -1]], strict=True):
            link = _link(duct, end, volume, float(area), loss, keeps_head, injected)
            if link is not None:
                result.links.append(link)
    return result


def _loss(mesh: Mesh) -> float:
    """Loss of wall and bends, over the square of the cross-section it is counted on [1/m4]."""
    area = mesh.volume / mesh.dx
    rough = rough_friction(mesh.roughness, mesh.diameter) ** 4
    friction = (BLASIUS_FOURTH / REYNOLDS + rough) ** 0.25
    return float(np.sum((friction / mesh.diameter + mesh.loss) * mesh.dx / area**2))


def _wall(mesh: Mesh) -> Wall:
    """What the walls of all cells are together to a flow that is the same in all of them."""
    area = mesh.volume / mesh.dx
    way = 4.0 * mesh.dx / mesh.diameter
    rough = rough_friction(mesh.roughness, mesh.diameter) ** 4
    return Wall(
        temperature=float(np.average(mesh.wall_temperature, weights=way)),
        way=float(way.sum()),
        still=float(np.sum(4.0 * mesh.volume / mesh.diameter**2)),
        reach=float(np.average(mesh.diameter / area, weights=way)),
        rough_fourth=float(np.average(rough, weights=way)),
    )


def _link(
    duct: Duct, end: End, volume: int, area: float, loss: float, keeps_head: bool, injected: float
) -> Link | None:
    if end.kind == "closed":
        return None
    if end.kind == "valve":
        return Link(f"valve of {duct.name}", volume, end.target, valve=end.side)
    head = area**-2.0
    inward = 1.0 / math.sqrt(loss + (end.ratio_in**-2.0 - 1.0) * head)
    kept = 1.0 if keeps_head else 0.0
    outward = 1.0 / math.sqrt(loss + (end.ratio_out**-2.0 - kept) * head)
    name = f"opening of {duct.name}"
    is_intake = injected > 0.0 or end is duct.start
    if is_intake:
        return Link(name, end.target, volume, inward, outward, fuel=injected)
    return Link(name, volume, end.target, outward, inward)
